package daytest

import (
	"fmt"
	"strings"

	"slabside/internal/day"
)

// Draw pictures a plan, a column a minute: a row for each machine with the
// place of the boil, a row for the set-ups before it, and the hands at work.
func Draw(p *day.Problem, plan *day.Plan) string {
	width := p.End
	for k := range plan.Made {
		width = max(width, plan.Made[k].Pour+40)
	}
	width = min(width, 2000)
	row := func(f func(paint func(from, to int, c byte))) string {
		line := []byte(strings.Repeat(".", width))
		f(func(from, to int, c byte) {
			for m := max(from, 0); m < min(to, width); m++ {
				if line[m] != '.' {
					line[m] = '#' // twice
				} else {
					line[m] = c
				}
			}
		})
		return string(line)
	}
	each := func(f func(m day.Placed, b day.Boil, s day.Shape, c byte, paint func(int, int, byte))) string {
		return row(func(paint func(int, int, byte)) {
			for k, m := range plan.Made {
				b := p.Boils[m.Boil]
				f(m, b, b.Shapes[m.Shape], byte('A'+k%26), paint)
			}
		})
	}
	var out strings.Builder
	line := func(name, s string) { fmt.Fprintf(&out, "%-8s%s\n", name, s) }
	line("", row(func(paint func(int, int, byte)) {
		for m := 0; m < width; m += 10 {
			paint(m, m+1, byte('0'+m/10%10))
		}
	}))
	line("kettle", each(func(m day.Placed, b day.Boil, _ day.Shape, c byte, paint func(int, int, byte)) {
		if m.KettleClean {
			paint(m.Pour-b.Lit-b.Charge-p.KettleMin, m.Pour-b.Lit-b.Charge, 'o')
		}
		paint(m.Pour-b.Lit-b.Charge, m.Pour-b.Lit, '+')
		paint(m.Pour-b.Lit, m.Pour, c)
		paint(m.Pour, m.Pour+b.Pour, '|')
		paint(m.Pour+b.Pour, m.Pour+b.Pour+b.Rinse, '~')
	}))
	line("slab", each(func(m day.Placed, _ day.Boil, s day.Shape, c byte, paint func(int, int, byte)) {
		paint(m.Pour, m.Pour+s.SlabFree, c)
	}))
	line("hook", each(func(m day.Placed, _ day.Boil, s day.Shape, c byte, paint func(int, int, byte)) {
		paint(m.Pour+s.HookFrom, m.Pour+s.HookTo, c)
	}))
	line("rolls", each(func(m day.Placed, b day.Boil, s day.Shape, c byte, paint func(int, int, byte)) {
		paint(m.Pour+s.RollFrom, m.Pour+s.RollTo, c)
		paint(m.Pour+s.RollTo, m.Pour+s.RollTo+b.Cool, '-')
	}))
	line("act", each(func(m day.Placed, _ day.Boil, _ day.Shape, c byte, paint func(int, int, byte)) {
		paint(m.ActFrom, m.ActFrom+p.ActMin[m.Act], c)
	}))
	line("set-up", each(func(m day.Placed, _ day.Boil, _ day.Shape, c byte, paint func(int, int, byte)) {
		paint(m.RollsFrom, m.RollsFrom+m.RollsMin, c)
	}))
	line("breaks", row(func(paint func(int, int, byte)) {
		for i, s := range plan.Breaks {
			if s >= 0 {
				paint(s, s+p.Breaks[i].Minutes, 'x')
			}
		}
	}))
	for _, h := range p.Hands {
		class := byte('b')
		if h.Hot {
			class = 'h'
		} else if h.Clean {
			class = 'c'
		}
		line(h.Name[:min(7, len(h.Name))], row(func(paint func(int, int, byte)) {
			for _, s := range h.Present {
				paint(s.From, s.To, class)
			}
		}))
	}
	for k, m := range plan.Made {
		b := p.Boils[m.Boil]
		kettle := ""
		if m.KettleClean {
			kettle = fmt.Sprintf(", kettle cleaned %d min", p.KettleMin)
		}
		fmt.Fprintf(&out, "%c boil %d recipe %d pour %d shape %d %v at %d, rolls %d min at %d%s\n",
			'A'+k%26, m.Boil, b.Recipe, m.Pour, m.Shape, m.Act, m.ActFrom, m.RollsMin, m.RollsFrom, kettle)
	}
	fmt.Fprintf(&out, "end %d of %d less %d, cleaning %d, breaks %v, kept %v, objectives %v\n",
		plan.End, p.End, p.Closing, plan.Cleaning, plan.Breaks, plan.Kept, plan.Objectives)
	return out.String()
}
