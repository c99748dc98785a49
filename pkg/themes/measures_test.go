package themes

import (
	"math"
	"testing"
)

func near(t *testing.T, name string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s: got %.7f, want %.7f (±%g)", name, got, want, within)
	}
}

// Dunning 1993, table 1 (the first and fifth row seen as printed; the others
// recalled, and recomputed from their counts).
func TestDunningTable(t *testing.T) {
	for _, c := range []struct {
		words              string
		k11, k12, k21, k22 float64
		want               float64
	}{
		{"the swiss", 110, 2442, 111, 29114, 270.72},
		{"can be", 29, 13, 123, 31612, 263.90},
		{"mineral water", 10, 0, 3, 31764, 167.23},
		{"natural gas", 9, 0, 5, 31763, 146.80},
		{"qualified personnel", 8, 5, 24, 31740, 95.29},
		{"natel c", 3, 0, 0, 31774, 61.61},
	} {
		near(t, c.words, LogLikelihood(c.k11, c.k12, c.k21, c.k22), c.want, 0.005)
	}
}

// Rayson and Garside's worked example, as given in lectures (seen): 52 in
// 50,000 words against 57 in 75,000.
func TestRaysonGarsideExample(t *testing.T) {
	near(t, "52/50,000 and 57/75,000", Keyness(52, 50000, 57, 75000), 2.65, 0.005)
	near(t, "the other way round", Keyness(57, 75000, 52, 50000), -2.65, 0.005)
}

// Gries 2008, section 3: a occurs 1 to 5 times in parts of 9, 10, 10, 10, 11
// words (corpus seen as printed, values recomputed from it).
func TestGriesToyCorpus(t *testing.T) {
	counts, sizes := []float64{1, 2, 3, 4, 5}, []float64{9, 10, 10, 10, 11}
	near(t, "DP", DP(counts, sizes), 0.18, 0.00005)
	near(t, "DPnorm", DPNorm(counts, sizes), 0.2195, 0.00005)
}

// Lyne 1985, ALLEMAND in ten parts of French business letters, as given by
// Gries 2020 (seen).
func TestLyneAllemand(t *testing.T) {
	counts := []float64{2, 0, 1, 1, 3, 0, 3, 0, 0, 0}
	sizes := []float64{8143, 8058, 8271, 8125, 7959, 7941, 8146, 8001, 8003, 7930}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"D", JuillandD(counts, sizes), 0.6038797},
		{"D2", CarrollD2(counts, sizes), 0.6521444},
		{"S", RosengrenS(counts, sizes), 0.4763652},
		{"DP", DP(counts, sizes), 0.4990705},
		// On the scale of the others: 1 is even.
		{"DKL", 1 / (1 + DKL(counts, sizes)), 0.4665078},
	} {
		near(t, c.name, c.got, c.want, 5e-7)
	}
}
