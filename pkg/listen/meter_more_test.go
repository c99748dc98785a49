package listen

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"rushlight/pkg/sound"
	"rushlight/pkg/timecode"
)

// ffmpegLoudness is what another program makes of a file.
func ffmpegLoudness(t *testing.T, path string, channels int) (i, lra, peak float64) {
	t.Helper()
	filter := "ebur128=peak=true"
	if channels == 3 { // else taken for 2.1: the third would not count
		filter = "channelmap=map=0|1|2:channel_layout=3.0," + filter
	}
	out, err := exec.Command("ffmpeg", "-nostats", "-i", path, "-af", filter, "-f", "null", "-").CombinedOutput()
	if err != nil {
		t.Fatalf("ffmpeg: %v: %s", err, out)
	}
	summary := regexp.MustCompile(`(?s)Summary:.*`).Find(out)
	get := func(re string) float64 {
		m := regexp.MustCompile(re).FindSubmatch(summary)
		if m == nil {
			t.Fatalf("no %s in %s", re, out)
		}
		v, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			return math.Inf(-1)
		}
		return v
	}
	return get(`I:\s+(\S+) LUFS`), get(`LRA:\s+(\S+) LU`), get(`Peak:\s+(\S+) dBFS`)
}

// Real voices and the demo shoot beside ffmpeg's ebur128 filter, which prints
// tenths: half of one is allowed on top of the limits. The range is compared
// from a minute on: with a handful of values ffmpeg takes other ranks than
// EBU Tech 3342 does.
func TestMeterBesideFFmpeg(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg not found: apt-get install ffmpeg")
	}
	files, _ := filepath.Glob("../../samples/day*/*.wav")
	for _, dir := range []string{"en_US_f_Allison", "es_MX_f_Allison"} {
		all, _ := filepath.Glob("/usr/share/asterisk/sounds/" + dir + "/*.wav")
		if len(all) == 0 {
			t.Log("no real voices: apt-get install asterisk-core-sounds-en-wav asterisk-core-sounds-es-wav")
		}
		for k := range 7 {
			if len(all) > 0 {
				files = append(files, all[k*len(all)/7])
			}
		}
	}
	if len(files) == 0 {
		t.Skip("no samples and no voices: apt-get install asterisk-core-sounds-en-wav")
	}
	if joined := joinedVoices(t); joined != "" {
		files = append(files, joined)
	}
	var worst [3]float64
	ranges := 0
	for _, f := range files {
		r, err := sound.Open(f)
		if err != nil {
			t.Fatal(err)
		}
		info := r.Info()
		got, err := MeasureSpans(context.Background(), r, []timecode.Span{{Out: info.Duration()}})
		r.Close()
		if err != nil {
			t.Fatal(err)
		}
		i, lra, peak := ffmpegLoudness(t, f, info.Channels)
		m, name := got[0], filepath.Base(f)
		if info.Duration() < 400*timecode.Millisecond || i <= -70 {
			if !math.IsInf(m.IntegratedLUFS, -1) {
				t.Errorf("%s: got %.2f LUFS of what ffmpeg finds nothing in", name, m.IntegratedLUFS)
			}
			continue
		}
		meterNear(t, name+" integrated", m.IntegratedLUFS, i, 0.15, 0.15)
		meterNear(t, name+" true peak", m.TruePeakDBTP, peak, 0.45, 0.25)
		for k, d := range []float64{m.IntegratedLUFS - i, m.TruePeakDBTP - peak} {
			worst[k] = math.Max(worst[k], math.Abs(d))
		}
		if info.Duration() >= timecode.Minute {
			meterNear(t, name+" range", m.RangeLU, lra, 0.25, 0.25)
			worst[2] = math.Max(worst[2], math.Abs(m.RangeLU-lra))
			ranges++
		}
	}
	t.Logf("FIGURE | Listening | loudness beside ffmpeg ebur128, %d real files | at most %.2f LU, true peak %.2f dB, range %.2f LU (%d files) apart | 0.1 LU, 0.2 LU for the range", len(files), worst[0], worst[1], worst[2], ranges)
}

// joinedVoices writes three minutes of real voices at changing level; "" if
// there are none.
func joinedVoices(t *testing.T) string {
	t.Helper()
	all, _ := filepath.Glob("/usr/share/asterisk/sounds/en_US_f_Allison/*.wav")
	var x []float64
	for i, f := range all {
		v, rate, err := readWAV(f)
		if err != nil || rate != 8000 || len(x) > 180*8000 {
			continue
		}
		g := db(-float64(i * 7 % 23))
		for _, s := range v {
			x = append(x, g*s)
		}
	}
	if len(x) == 0 {
		return ""
	}
	path := filepath.Join(t.TempDir(), "joined.wav")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := sound.NewWriter(f, sound.WriterOptions{SampleRate: 8000, Bits: 24, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Write([][]float64{x}), w.Close()); err != nil {
		t.Fatal(err)
	}
	return path
}

// A span gives what a meter gives of the same cut out.
func TestMeasureSpans(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	const rate = 44100
	x := make([][]float64, 2)
	for c := range x {
		x[c] = pinkNoise(rate*60, r)
		for i := range x[c] {
			x[c][i] *= 0.05 * (1 + math.Sin(float64(i)/rate/2))
		}
	}
	spans := []timecode.Span{
		{In: 20 * timecode.Second, Out: 40 * timecode.Second},
		{In: 0, Out: 60 * timecode.Second},
		{In: 30 * timecode.Second, Out: 35 * timecode.Second},
		{In: 59 * timecode.Second, Out: 70 * timecode.Second},
		{In: 10 * timecode.Second, Out: 10*timecode.Second + 300*timecode.Millisecond},
		{In: 5 * timecode.Second, Out: 5 * timecode.Second},
		{In: 70 * timecode.Second, Out: 80 * timecode.Second},
	}
	got, err := MeasureSpans(context.Background(), newScene(rate, x...), spans)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range spans {
		from, to := int(s.In.Samples(rate, timecode.Nearest)), int(s.Out.Samples(rate, timecode.Nearest))
		from, to = min(from, len(x[0])), min(to, len(x[0]))
		want := NewMeter(rate, 2, 0)
		want.Write([][]float64{x[0][from:to], x[1][from:to]})
		w := want.Measured()
		same := func(what string, a, b float64) {
			if a != b && !(math.Abs(a-b) < 0.05) {
				t.Errorf("%s %s: got %.3f, want %.3f", s, what, a, b)
			}
		}
		same("integrated", got[i].IntegratedLUFS, w.IntegratedLUFS)
		same("momentary", got[i].MomentaryMaxLUFS, w.MomentaryMaxLUFS)
		same("short-term", got[i].ShortTermMaxLUFS, w.ShortTermMaxLUFS)
		same("range", got[i].RangeLU, w.RangeLU)
		same("true peak", got[i].TruePeakDBTP, w.TruePeakDBTP)
	}
	if !math.IsInf(got[4].IntegratedLUFS, -1) || math.IsInf(got[4].TruePeakDBTP, -1) {
		t.Errorf("300 ms: got %+v, want no loudness but a peak", got[4])
	}
}

// Many spans of many minutes go over into histograms without a change.
func TestMeterBlocks(t *testing.T) {
	t.Parallel()
	var few, many meterBlocks
	r := rand.New(rand.NewPCG(3, 4))
	var all []float64
	for range 3 * meterFew {
		all = append(all, math.Pow(10, -2-3*r.Float64()))
	}
	for _, e := range all {
		many.add(e)
	}
	few.few = all
	a, b := few.in(&gate{}), many.in(&gate{sum: make([]float64, gateBins), count: make([]int64, gateBins)})
	if a.integrated() != b.integrated() || loudnessRange(a) != loudnessRange(b) {
		t.Errorf("got %g, %g; want %g, %g", b.integrated(), loudnessRange(b), a.integrated(), loudnessRange(a))
	}
}

// The true peak that skips what can't matter is the one that doesn't.
func TestTruePeakSkips(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 6))
	for range 50 {
		x := make([]float64, 1+r.IntN(400))
		for i := range x {
			x[i] = r.NormFloat64() * math.Exp(r.NormFloat64())
		}
		var fast truePeak
		top := 0.0
		for at := 0; at < len(x); {
			end := min(len(x), at+1+r.IntN(50))
			top = fast.feed(x[at:end], 0, top)
			at = end
		}
		top = fast.tail(top)
		full := append(append(make([]float64, 11), x...), make([]float64, 11)...)
		want := 0.0
		for i := range full[11:] {
			want = math.Max(want, math.Abs(full[11+i]))
			for p := range 4 {
				var y float64
				for j := range 12 {
					tap := truePeakTaps[p%2][j]
					if p >= 2 {
						tap = truePeakTaps[p%2][11-j]
					}
					y += full[i+11-j] * tap
				}
				want = math.Max(want, math.Abs(y))
			}
		}
		if math.Abs(top-want) > 1e-12*want {
			t.Fatalf("got %g, want %g", top, want)
		}
	}
}

func TestMeterOdd(t *testing.T) {
	t.Parallel()
	nan, inf := math.NaN(), math.Inf(1)
	noise := pinkNoise(48000, rand.New(rand.NewPCG(7, 8)))
	broken := append([]float64{nan, inf, -inf, 1e300}, noise...)
	if m := metered(48000, 0, broken); math.IsNaN(m.IntegratedLUFS) || math.Abs(m.IntegratedLUFS-metered(48000, 0, noise).IntegratedLUFS) > 0.1 {
		t.Errorf("after no numbers: got %+v", m)
	}
	for _, rate := range []int{1, 50, 99, 101, 8000, 192000} {
		for _, n := range []int{1, 2, 100, rate} {
			x := make([][]float64, 64)
			for c := range x {
				x[c] = noise[:min(n, len(noise))]
			}
			m := metered(rate, 0, x...)
			for _, v := range []float64{m.IntegratedLUFS, m.MomentaryMaxLUFS, m.ShortTermMaxLUFS, m.RangeLU, m.TruePeakDBTP} {
				if math.IsNaN(v) || math.IsInf(v, 1) {
					t.Errorf("%d Hz, %d samples: got %+v", rate, n, m)
				}
			}
		}
	}
	none := NewMeter(48000, 2, 0).Measured()
	silent := metered(48000, 0, make([]float64, 48000*5))
	for _, m := range []Measured{none, silent} {
		if !math.IsInf(m.IntegratedLUFS, -1) || !math.IsInf(m.TruePeakDBTP, -1) || m.RangeLU != 0 {
			t.Errorf("silence: got %+v", m)
		}
	}
	if _, err := MeasureSpans(context.Background(), newScene(0), nil); !errors.Is(err, ErrSource) {
		t.Errorf("no channels: got %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := MeasureSpans(ctx, newScene(48000, noise), []timecode.Span{{Out: timecode.Second}}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: got %v", err)
	}
}

func BenchmarkMeter(b *testing.B) {
	x := pinkNoise(48000*10, rand.New(rand.NewPCG(9, 10)))
	for i := range x {
		x[i] *= 0.05
	}
	b.SetBytes(int64(len(x)))
	for b.Loop() {
		m := NewMeter(48000, 1, 0)
		m.Write([][]float64{x})
	}
}
