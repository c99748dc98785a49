package sound

import "math"

// Windowed-sinc resampling for any two rates. The kernel is a sinc under a
// Kaiser window, sampled finely once; between its points it is interpolated
// linearly. Kaiser & Schafer 1980 (recalled): 32 zero crossings each side and
// β = 9 put the stop band about 90 dB down.
const (
	sincZeros = 32
	sincSteps = 512 // table points between zero crossings
	sincBeta  = 9.0
	// sincCutoff leaves room for the transition band below half the lower
	// of the two rates.
	sincCutoff = 0.91
)

// sincTable is the right half of the kernel.
func sincTable() []float64 {
	t := make([]float64, sincZeros*sincSteps+2)
	for i := range t {
		x := float64(i) / sincSteps
		if x >= sincZeros {
			break
		}
		v := 1.0
		if x > 0 {
			v = math.Sin(math.Pi*x) / (math.Pi * x)
		}
		r := x / sincZeros
		t[i] = v * bessel0(sincBeta*math.Sqrt(1-r*r)) / bessel0(sincBeta)
	}
	return t
}

// bessel0 is the modified Bessel function of order 0, by its power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1; term > 1e-12*sum; k++ {
		term *= (x / 2 / float64(k)) * (x / 2 / float64(k))
		sum += term
	}
	return sum
}

// resampler turns one run of source frames into output frames.
type resampler struct {
	table    []float64
	from, to int64   // sample rates
	scale    float64 // kernel stretch: below 1 the kernel is wider
	reach    int64   // source frames needed on each side
}

func newResampler(from, to int) *resampler {
	r := &resampler{table: sincTable(), from: int64(from), to: int64(to)}
	r.scale = sincCutoff * min(1, float64(to)/float64(from))
	r.reach = int64(math.Ceil(sincZeros / r.scale))
	return r
}

// place is where output frame k lies in the source: a whole frame and the
// rest of one, both counted from where frame 0 lies; k may be negative.
func (r *resampler) place(k int64) (whole int64, rest float64) {
	// k is a frame of a stringout, so k·from stays far below 2⁶³.
	n := k * r.from
	whole, n = n/r.to, n%r.to
	if n < 0 {
		whole, n = whole-1, n+r.to
	}
	return whole, float64(n) / float64(r.to)
}

// at computes one sample. src[mid] is the source frame at or before the
// place, rest the distance behind it; frames outside src are silence.
func (r *resampler) at(src []float64, mid int, rest float64) float64 {
	sum := 0.0
	lo, hi := max(0, mid-int(r.reach)+1), min(len(src)-1, mid+int(r.reach))
	for j := lo; j <= hi; j++ {
		x := math.Abs(float64(mid-j)+rest) * r.scale * sincSteps
		i := int(x)
		if i >= sincZeros*sincSteps {
			continue
		}
		f := x - float64(i)
		sum += src[j] * (r.table[i] + f*(r.table[i+1]-r.table[i]))
	}
	return sum * r.scale
}
