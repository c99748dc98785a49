package desk_test

import (
	"bufio"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/desk"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

const (
	promptText  = "/usr/share/doc/asterisk-core-sounds-en/core-sounds-en.txt.gz"
	promptSound = "/usr/share/asterisk/sounds/en_US_f_Allison"
	promptRate  = 8000
)

// prompt is one sentence of a real voice.
type prompt struct {
	text    string
	samples []float64
}

// prompts reads sentences of one person with their known words: Debian's
// asterisk-core-sounds-en-wav, trimmed to where the level of 10 ms stands
// within 45 dB of the file's loudest.
func prompts(t *testing.T) []prompt {
	t.Helper()
	f, err := os.Open(promptText)
	if err != nil {
		t.Skip("no voices with known words: apt-get install asterisk-core-sounds-en-wav")
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	var out []prompt
	lines := bufio.NewScanner(z)
	for lines.Scan() {
		name, text, ok := strings.Cut(lines.Text(), ": ")
		text = strings.TrimSpace(text)
		inner := strings.TrimRight(text, ".?!")
		if !ok || inner == text || strings.Contains(text, "..") || strings.ContainsAny(inner, ".?![]<>\"…") || len(strings.Fields(text)) < 4 || text[0] < 'A' || text[0] > 'Z' {
			continue
		}
		samples, err := readAll(filepath.Join(promptSound, name+".wav"))
		if err != nil {
			continue
		}
		if samples = trimmed(samples); len(samples) > promptRate {
			out = append(out, prompt{text, samples})
		}
	}
	if len(out) < 60 {
		t.Skipf("only %d sentences: apt-get install asterisk-core-sounds-en-wav", len(out))
	}
	return out
}

func readAll(path string) ([]float64, error) {
	rd, err := sound.Open(path)
	if err != nil {
		return nil, err
	}
	defer rd.Close()
	var out []float64
	for {
		b, err := rd.Next()
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		out = append(out, b.Samples[0]...)
	}
}

func trimmed(s []float64) []float64 {
	const step = promptRate / 100
	var levels []float64
	for i := 0; i+step <= len(s); i += step {
		sum := 0.0
		for _, v := range s[i : i+step] {
			sum += v * v
		}
		levels = append(levels, sum)
	}
	if len(levels) == 0 {
		return nil
	}
	limit := slices.Max(levels) * math.Pow(10, -4.5)
	first := slices.IndexFunc(levels, func(v float64) bool { return v > limit })
	last := len(levels) - 1
	for levels[last] <= limit {
		last--
	}
	return s[first*step : (last+1)*step]
}

// placed is one sentence on the timeline of a built recording.
type placed struct {
	text string
	timecode.Span
}

// buildTalk lays sentences with gaps of 0.4 to 1.6 s over noise 30 dB below
// the talk, and writes a transcript that has a timecode each 25 s only, by a
// clock that is so many ppm fast.
func buildTalk(t *testing.T, dir string, list []prompt, seed uint64, fast float64) (wav, txt string, truth []placed) {
	t.Helper()
	random := rand.New(rand.NewPCG(seed, 1))
	var talk []float64
	power, n := 0.0, 0
	for _, p := range list {
		talk = append(talk, make([]float64, int(promptRate*(0.4+1.2*random.Float64())))...)
		span := timecode.Span{In: timecode.FromSamples(int64(len(talk)), promptRate)}
		talk = append(talk, p.samples...)
		span.Out = timecode.FromSamples(int64(len(talk)), promptRate)
		truth = append(truth, placed{p.text, span})
		for _, v := range p.samples {
			power += v * v
		}
		n += len(p.samples)
	}
	talk = append(talk, make([]float64, promptRate)...)
	noise := math.Sqrt(power/float64(n)) * math.Pow(10, -30.0/20) * math.Sqrt(3)
	for i := range talk {
		talk[i] += noise * (2*random.Float64() - 1)
	}
	wav, txt = filepath.Join(dir, "D1-TALK.wav"), filepath.Join(dir, "D1-TALK.txt")
	f, err := os.Create(wav)
	if err != nil {
		t.Fatal(err)
	}
	w, err := sound.NewWriter(f, sound.WriterOptions{SampleRate: promptRate, Bits: 16, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write([][]float64{talk}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	var words strings.Builder
	next := timecode.Ticks(0)
	for _, p := range truth {
		if p.In >= next {
			s := int64(p.In.Seconds() * (1 + fast/1e6))
			fmt.Fprintf(&words, "\n[%d:%02d] ", s/60, s%60)
			next = p.In + 25*timecode.Second
		}
		words.WriteString(p.text + " ")
	}
	if err := os.WriteFile(txt, []byte(words.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return wav, txt, truth
}

// TestRealVoices runs the main job from files to quotes on a real voice whose
// words and times are known, with a transcript that has a timecode each 25 s.
// The aims are this project's own (docs/figures.md): 70 % of ins and outs within
// 200 ms, 95 % in a true pause, at most 2 % of the cuts inside a word; inside
// talk is counted, which is more than inside words.
func TestRealVoices(t *testing.T) {
	list := prompts(t)
	for _, c := range []struct {
		name      string
		sentences int
		fast      float64
	}{{"clock in step", 60, 0}, {"clock 0.5 % fast", 150, 5000}} {
		t.Run(c.name, func(t *testing.T) { realVoices(t, list, min(c.sentences, len(list)), c.fast) })
	}
}

func realVoices(t *testing.T, list []prompt, sentences int, fast float64) {
	ctx := context.Background()
	var near, inside, all int
	for seed := range uint64(3) {
		dir := t.TempDir()
		random := rand.New(rand.NewPCG(seed, 2))
		random.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		wav, txt, truth := buildTalk(t, dir, list[:sentences], seed, fast)
		bank := filepath.Join(dir, "bank")
		if _, err := desk.New(ctx, bank, desk.Options{}, desk.NewOptions{}); err != nil {
			t.Fatal(err)
		}
		d, err := desk.Open(ctx, desk.Options{Bank: bank})
		if err != nil {
			t.Fatal(err)
		}
		defer d.Close()
		rep, err := d.Ingest(ctx, desk.IngestOptions{Paths: []string{wav, txt}})
		if err != nil || rep.Counts[desk.Refused] > 0 {
			t.Fatalf("ingest: %v, %v", err, rep.Files)
		}
		found, err := d.Find(ctx, desk.FindOptions{Query: "reel:D1-TALK", Limit: -1})
		if err != nil {
			t.Fatal(err)
		}
		quotes := make([]story.Quote, len(found.Hits))
		for i, h := range found.Hits {
			quotes[i] = h.Quote
		}
		if len(quotes) != len(truth) {
			t.Errorf("seed %d: %d quotes of %d sentences", seed, len(quotes), len(truth))
		}
		slices.SortFunc(quotes, func(a, b story.Quote) int { return a.Order - b.Order })
		i := 0
		for _, p := range truth {
			for i < len(quotes) && quotes[i].Text != p.text {
				i++
			}
			if i == len(quotes) {
				t.Fatalf("seed %d: no quote %q", seed, p.text)
			}
			for _, cut := range []struct{ got, want timecode.Ticks }{{quotes[i].In, p.In}, {quotes[i].Out, p.Out}} {
				all++
				if off := cut.got - cut.want; max(off, -off) <= 200*timecode.Millisecond {
					near++
				}
				if insideTalk(truth, cut.got) {
					inside++
				}
			}
		}
	}
	share := func(n int) float64 { return float64(n) / float64(all) }
	t.Logf("FIGURE | Words on sound | ins and outs of a real voice, a time each 25 s, %s | %d cuts: %.1f %% within 200 ms, %.1f %% inside talk | 70 %%, 2 %%", path.Base(t.Name()), all, 100*share(near), 100*share(inside))
	if share(near) < 0.70 {
		t.Errorf("%.1f %% within 200 ms, want 70 %%", 100*share(near))
	}
	if share(inside) > 0.02 {
		t.Errorf("%.1f %% inside talk, want 2 %% at most", 100*share(inside))
	}
}

// insideTalk tells whether a cut lies more than 50 ms inside a sentence.
func insideTalk(truth []placed, at timecode.Ticks) bool {
	const edge = 50 * timecode.Millisecond
	return slices.ContainsFunc(truth, func(p placed) bool { return at > p.In+edge && at < p.Out-edge })
}
