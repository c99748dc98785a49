package themes

import "math"

// TScore is Student's t of two words standing together k times, said a and b
// times among n words: how far more than by chance, in standard errors, the
// variance taken as k/n (Manning and Schütze 1999, 5.3.1). 0 for k = 0.
func TScore(k, a, b, n float64) float64 {
	if k <= 0 || n <= 0 {
		return 0
	}
	return (k - a*b/n) / math.Sqrt(k)
}

// ChiSquared is Pearson's χ² of the table k11 k12 / k21 k22 (Manning and
// Schütze 1999, 5.3.3). 0 if a row or column is empty.
func ChiSquared(k11, k12, k21, k22 float64) float64 {
	n := k11 + k12 + k21 + k22
	d := (k11 + k12) * (k11 + k21) * (k12 + k22) * (k21 + k22)
	if d <= 0 {
		return 0
	}
	x := k11*k22 - k12*k21
	return n * x * x / d
}

// PMI is pointwise mutual information in bits of two words standing together
// k times, said a and b times among n words (Manning and Schütze 1999, 5.4).
// 0 if any is 0.
func PMI(k, a, b, n float64) float64 {
	if k <= 0 || a <= 0 || b <= 0 || n <= 0 {
		return 0
	}
	return math.Log2(k * n / (a * b))
}

// LogOdds is the difference of the log odds of a word said a times among n
// words and b times among m, with a Dirichlet prior: prior pseudo-occurrences
// of this word out of priors of all words. z is the difference in standard
// deviations (Monroe, Colaresi and Quinn 2008, equations 15, 19 and 22, with
// an informative or flat prior). 0, 0 without a prior.
func LogOdds(a, n, b, m, prior, priors float64) (delta, z float64) {
	if prior <= 0 || priors <= prior {
		return 0, 0
	}
	delta = math.Log((a+prior)/(n+priors-a-prior)) - math.Log((b+prior)/(m+priors-b-prior))
	return delta, delta / math.Sqrt(1/(a+prior)+1/(b+prior))
}

// LogRatio is the effect size beside Keyness: by how many doublings a word
// said a times among n words is more frequent than one said b times among m.
// No occurrence counts as half of one, as is common practice. 0 if either
// side has no words or nothing is said at all.
func LogRatio(a, n, b, m float64) float64 {
	if n <= 0 || m <= 0 || a <= 0 && b <= 0 {
		return 0
	}
	if a <= 0 {
		a = 0.5
	}
	if b <= 0 {
		b = 0.5
	}
	return math.Log2(a / n / (b / m))
}
