package daytest

import (
	"fmt"
	"strings"
)

// sum is a linear expression.
type sum struct {
	coef  map[string]int
	order []string
	fixed int
}

func (s *sum) add(c int, name string) {
	if s.coef == nil {
		s.coef = map[string]int{}
	}
	if _, ok := s.coef[name]; !ok {
		s.order = append(s.order, name)
	}
	s.coef[name] += c
}

func (s *sum) addSum(c int, t sum) {
	for _, n := range t.order {
		s.add(c*t.coef[n], n)
	}
	s.fixed += c * t.fixed
}

func (s sum) text() string {
	var out strings.Builder
	for _, n := range s.order {
		if c := s.coef[n]; c != 0 {
			fmt.Fprintf(&out, "%+d %s ", c, n)
		}
	}
	return out.String()
}

func plus(a sum, c int, b sum) sum {
	var s sum
	s.addSum(1, a)
	s.addSum(c, b)
	return s
}

// row demands s rel rhs, where rel is <=, >= or =.
func (g *Programme) row(s sum, rel string, rhs int) {
	text := s.text()
	if text == "" {
		ok := rel == "<=" && s.fixed <= rhs || rel == ">=" && s.fixed >= rhs || rel == "=" && s.fixed == rhs
		if ok {
			return
		}
		text = "0 " + varEnd + " " // never true, and says so to the solver
	}
	g.rows = append(g.rows, fmt.Sprintf("%s%s %d", text, rel, rhs-s.fixed))
}

func (g *Programme) bin(name string) string { g.bins = append(g.bins, name); return name }

func (g *Programme) bounded(name string, upper int) string {
	g.upper[name] = upper
	g.names = append(g.names, name)
	return name
}
