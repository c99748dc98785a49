package themes

import "math"

// LogLikelihood is Dunning's G² of the table k11 k12 / k21 k22: how surely the
// two events occur together more or less than by chance. k11 counts both,
// k12 the second without the first, k21 the first without the second, k22
// neither. 0 for an empty table.
func LogLikelihood(k11, k12, k21, k22 float64) float64 {
	n := k11 + k12 + k21 + k22
	term := func(k, row, column float64) float64 {
		if k <= 0 {
			return 0
		}
		return k * math.Log(k*n/(row*column))
	}
	r1, r2, c1, c2 := k11+k12, k21+k22, k11+k21, k12+k22
	return max(0, 2*(term(k11, r1, c1)+term(k12, r1, c2)+term(k21, r2, c1)+term(k22, r2, c2)))
}

// Keyness is Rayson and Garside's log-likelihood: how surely a word that
// occurs a times among n words and b times among m words is more frequent in
// the first. Less frequent: the same with a minus sign. 0 if either is empty.
func Keyness(a, n, b, m float64) float64 {
	if n <= 0 || m <= 0 || a+b <= 0 {
		return 0
	}
	expectA, expectB := n*(a+b)/(n+m), m*(a+b)/(n+m)
	g := 0.0
	if a > 0 {
		g += a * math.Log(a/expectA)
	}
	if b > 0 {
		g += b * math.Log(b/expectB)
	}
	g = max(0, 2*g)
	if a/n < b/m {
		return -g
	}
	return g
}

// DP is Gries' deviation of proportions (2008): half the sum of differences
// between each part's share of the occurrences and its share of all words; 0
// spread as evenly as can be, towards 1 all in a small part. counts and sizes
// are per part. Without occurrences or words: 0.
func DP(counts, sizes []float64) float64 {
	total, size := sum(counts), sum(sizes)
	if total == 0 || size == 0 {
		return 0
	}
	d := 0.0
	for i := range counts {
		d += math.Abs(counts[i]/total - sizes[i]/size)
	}
	return d / 2
}

// DPNorm is DP divided by the most it can be with these parts (Lijffijt and
// Gries 2012), so that it reaches 1. With a single part: 0.
func DPNorm(counts, sizes []float64) float64 {
	size := sum(sizes)
	smallest := math.Inf(1)
	for _, s := range sizes {
		if s > 0 {
			smallest = min(smallest, s/size)
		}
	}
	if size == 0 || smallest >= 1 {
		return 0
	}
	return DP(counts, sizes) / (1 - smallest)
}

// JuillandD is Juilland's D: 1 minus the coefficient of variation of the
// relative frequencies over the square root of parts minus one; 1 is even.
func JuillandD(counts, sizes []float64) float64 {
	n := float64(len(counts))
	p := relative(counts, sizes)
	mean := sum(p) / n
	if n < 2 || mean == 0 {
		return 0
	}
	v := 0.0
	for _, x := range p {
		v += (x - mean) * (x - mean)
	}
	return 1 - math.Sqrt(v/n)/mean/math.Sqrt(n-1)
}

// CarrollD2 is Carroll's D2: the entropy of the relative frequencies over the
// most it can be; 1 is even.
func CarrollD2(counts, sizes []float64) float64 {
	p := relative(counts, sizes)
	all := sum(p)
	if len(p) < 2 || all == 0 {
		return 0
	}
	h := 0.0
	for _, x := range p {
		if x > 0 {
			h -= x / all * math.Log(x/all)
		}
	}
	return h / math.Log(float64(len(p)))
}

// RosengrenS is Rosengren's S, adjusted for parts of different sizes; 1 is
// even.
func RosengrenS(counts, sizes []float64) float64 {
	total, size := sum(counts), sum(sizes)
	if total == 0 || size == 0 {
		return 0
	}
	r := 0.0
	for i := range counts {
		r += math.Sqrt(sizes[i] / size * counts[i])
	}
	return r * r / total
}

// DKL is the Kullback-Leibler divergence, in bits, of the occurrences' shares
// from the parts' shares; 0 is even.
func DKL(counts, sizes []float64) float64 {
	total, size := sum(counts), sum(sizes)
	if total == 0 || size == 0 {
		return 0
	}
	d := 0.0
	for i := range counts {
		if counts[i] > 0 {
			p := counts[i] / total
			d += p * math.Log2(p/(sizes[i]/size))
		}
	}
	return d
}

func relative(counts, sizes []float64) []float64 {
	p := make([]float64, len(counts))
	for i := range counts {
		if sizes[i] > 0 {
			p[i] = counts[i] / sizes[i]
		}
	}
	return p
}

func sum(xs []float64) float64 {
	s := 0.0
	for _, x := range xs {
		s += x
	}
	return s
}
