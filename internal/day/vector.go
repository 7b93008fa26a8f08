package day

// vector is an objective vector, most important first.
type vector [5]int

const (
	vMust = iota
	vAppoint
	vShould
	vEnd
	vClean
)

var vectorNames = [...]string{ObjMust, ObjAppoint, ObjShould, ObjEnd, ObjClean}

// less orders vectors lexicographically.
func (v vector) less(w vector) bool {
	for i := range v {
		if v[i] != w[i] {
			return v[i] < w[i]
		}
	}
	return false
}

// lines counts the must-lines and should-lines a count of boils leaves unmade.
func (in *instance) lines(count []int) (must, should int) {
	for _, l := range in.p.Lines {
		if covers(count, l.Needs) {
			continue
		}
		if l.Must {
			must++
		} else {
			should++
		}
	}
	return must, should
}

func covers(count, needs []int) bool {
	for r, n := range needs {
		if count[r] < n {
			return false
		}
	}
	return true
}
