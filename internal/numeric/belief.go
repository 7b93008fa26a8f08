package numeric

import "math"

// A Belief is what is held of several unknowns at once: jointly normal, with means
// and covariances. What is observed moves it by Bayes' rule, exactly where an
// observation is a straight line in the unknowns.
//
// Reference: Gaussian conditioning, one observation after the other (C. E.
// Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning, 2006,
// eq. A.6).
type Belief struct {
	mean []float64
	cov  [][]float64
}

// Len returns the number of unknowns.
func (b *Belief) Len() int { return len(b.mean) }

// Add takes in an unknown that hangs on no other, with its mean and standard
// deviation, and returns its index.
func (b *Belief) Add(mean, sd float64) int {
	cov := make([]float64, len(b.mean)+1)
	cov[len(b.mean)] = sd * sd
	return b.Join(mean, cov)
}

// Join takes in an unknown with its mean and its covariances with those there are and,
// last, with itself, and returns its index.
func (b *Belief) Join(mean float64, cov []float64) int {
	for i := range b.cov {
		b.cov[i] = append(b.cov[i], cov[i])
	}
	b.mean = append(b.mean, mean)
	b.cov = append(b.cov, append([]float64(nil), cov...))
	return len(b.mean) - 1
}

// Drop lets the last unknown go: what it has taught of the others stays.
func (b *Belief) Drop() {
	n := len(b.mean) - 1
	b.mean, b.cov = b.mean[:n], b.cov[:n]
	for i := range b.cov {
		b.cov[i] = b.cov[i][:n]
	}
}

// Mean returns the mean of unknown i.
func (b *Belief) Mean(i int) float64 { return b.mean[i] }

// SD returns the standard deviation of unknown i.
func (b *Belief) SD(i int) float64 { return math.Sqrt(max(0, b.cov[i][i])) }

// Cov returns the covariance of two unknowns.
func (b *Belief) Cov(i, j int) float64 { return b.cov[i][j] }

// A Term is an unknown of an observation with its weight.
type Term struct {
	Unknown int
	Weight  float64
}

// Observe takes in what was seen of a sum of weighted unknowns, to a standard
// deviation of its own:
//
//	seen = Σ weight · unknown + noise
//
// It returns by how many standard deviations, of belief and noise together, that was
// not what was expected. Both must not be zero.
func (b *Belief) Observe(of []Term, seen, sd float64) (surprise float64) {
	n := len(b.mean)
	gain := make([]float64, n) // covariance with the sum
	expected, whole := 0.0, sd*sd
	for _, t := range of {
		expected += t.Weight * b.mean[t.Unknown]
		for i := range n {
			gain[i] += t.Weight * b.cov[i][t.Unknown]
		}
	}
	for _, t := range of {
		whole += t.Weight * gain[t.Unknown]
	}
	miss := seen - expected
	for i := range n {
		b.mean[i] += gain[i] / whole * miss
		for j := range n {
			b.cov[i][j] -= gain[i] * gain[j] / whole
		}
	}
	return miss / math.Sqrt(whole)
}

// Root returns the lower triangle L of L Lᵀ = covariance of some of the unknowns, by
// Cholesky's method; an unknown that is known, or tied to those before it, has a zero
// on the diagonal.
func (b *Belief) Root(of []int) [][]float64 {
	l := make([][]float64, len(of))
	for i := range of {
		l[i] = make([]float64, len(of))
		for j := 0; j <= i; j++ {
			sum := b.cov[of[i]][of[j]]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			switch {
			case i == j:
				l[i][i] = math.Sqrt(max(0, sum))
			case l[j][j] > 0:
				l[i][j] = sum / l[j][j]
			}
		}
	}
	return l
}

// Expect returns what a sum of weighted unknowns is expected to be, and one standard
// deviation of that.
func (b *Belief) Expect(of []Term) (mean, sd float64) {
	variance := 0.0
	for _, t := range of {
		mean += t.Weight * b.mean[t.Unknown]
		for _, u := range of {
			variance += t.Weight * u.Weight * b.cov[t.Unknown][u.Unknown]
		}
	}
	return mean, math.Sqrt(max(0, variance))
}

// Clone returns a belief that goes its own way.
func (b *Belief) Clone() Belief {
	c := Belief{mean: append([]float64(nil), b.mean...), cov: make([][]float64, len(b.cov))}
	for i, row := range b.cov {
		c.cov[i] = append([]float64(nil), row...)
	}
	return c
}
