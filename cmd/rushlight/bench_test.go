package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"rushlight/pkg/bank"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// BenchmarkProcess measures whole processes beside their peers in the same
// run and prints a table. Peers come from Debian (apt-get install sox ffmpeg);
// a missing one leaves its rows out and says so.
func BenchmarkProcess(b *testing.B) {
	if testing.Short() {
		b.Skip("takes minutes: run without -short")
	}
	for _, part := range []struct {
		name    string
		measure func(*bench)
	}{{"hearing", (*bench).hearing}, {"taking", (*bench).taking}, {"finding", (*bench).finding}} {
		b.Run(part.name, func(b *testing.B) {
			dir := b.TempDir()
			r := &bench{B: b, dir: dir, program: filepath.Join(dir, "rushlight")}
			r.must(exec.Command("go", "build", "-o", r.program, ".").Run())
			part.measure(r)
			r.print()
		})
	}
}

// bench runs commands and keeps the rows of the table.
type bench struct {
	*testing.B
	dir, program string
	rows         [][]string
	files        uint64 // of sound, made so far
}

func (r *bench) must(err error) {
	r.Helper()
	if err != nil {
		r.Fatal(err)
	}
}

// cost is what a process took: the median of some runs.
type cost struct {
	wall, cpu time.Duration
	peak      int64 // KiB
}

// measure runs a command n times in turn with others and keeps medians.
func (r *bench) measure(n int, commands ...[]string) []cost {
	runs := make([][]cost, len(commands))
	for range n {
		for i, c := range commands {
			cmd := exec.Command(c[0], c[1:]...)
			began := time.Now()
			var said bytes.Buffer
			cmd.Stderr = &said
			peak, err := runWatched(cmd)
			if err != nil && (said.Len() > 0 || cmd.ProcessState.ExitCode() != 1) { // 1 alone: faults were found
				r.Fatalf("%s: %v\n%s", strings.Join(c, " "), err, said.Bytes())
			}
			runs[i] = append(runs[i], cost{
				wall: time.Since(began),
				cpu:  cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime(),
				peak: peak,
			})
		}
	}
	out := make([]cost, len(commands))
	for i, list := range runs {
		slices.SortFunc(list, func(a, b cost) int { return int(a.wall - b.wall) })
		out[i] = list[len(list)/2]
		for _, c := range list {
			out[i].peak = max(out[i].peak, c.peak)
		}
	}
	return out
}

// runWatched runs a command and gives the most memory that it was seen with,
// in KiB, 0 if it was too short to see. (What the system tells at the end
// counts what this process had when it began the other.)
func runWatched(cmd *exec.Cmd) (peak int64, err error) {
	if err := cmd.Start(); err != nil {
		return 0, err
	}
	done := make(chan struct{})
	seen := make(chan int64)
	go func() {
		var most int64
		tick := time.NewTicker(25 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-done:
				seen <- most
				return
			case <-tick.C:
				most = max(most, highWater(cmd.Process.Pid))
			}
		}
	}()
	err = cmd.Wait()
	close(done)
	return <-seen, err
}

// highWater is the most memory a process had, in KiB (proc_pid_status(5)).
func highWater(pid int) int64 {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(data), "VmHWM:")
	var kib int64
	if _, err := fmt.Sscan(rest, &kib); err != nil {
		return 0
	}
	return kib
}

func (r *bench) row(what string, ours cost, peer string, theirs cost, limit string) {
	ratio := "–"
	if theirs.wall > 0 {
		ratio = fmt.Sprintf("%.2f (cpu %.2f)", ours.wall.Seconds()/theirs.wall.Seconds(), ours.cpu.Seconds()/theirs.cpu.Seconds())
	}
	peak := "–"
	if ours.peak > 0 {
		peak = fmt.Sprintf("%d MiB", ours.peak/1024)
	}
	r.rows = append(r.rows, []string{
		what, ours.wall.Round(100 * time.Microsecond).String(), peak,
		peer, theirs.wall.Round(100 * time.Microsecond).String(), ratio, limit,
	})
}

func (r *bench) print() {
	t := terminal{out: os.Stdout, err: os.Stderr}
	fmt.Fprintln(t.out)
	fmt.Fprintln(t.out, "| what | wall | peak memory | peer | its wall | ratio | at most |")
	fmt.Fprintln(t.out, "|---|---|---|---|---|---|---|")
	for _, row := range r.rows {
		fmt.Fprintln(t.out, "| "+strings.Join(row, " | ")+" |")
	}
}

// hearing: one hour of 48 kHz/24-bit mono, a card with two of them, eight
// channels, and ten hours.
func (r *bench) hearing() {
	hour := filepath.Join(r.dir, "hour.wav")
	r.long(hour, 1, 48000, 24, 1)
	ours := []string{r.program, "listen", hour, "--json"}
	quick := []string{r.program, "listen", hour, "--quick", "--json"}
	for _, peer := range []struct {
		name, limit string
		args        []string
	}{
		{"cat", "3", []string{"cat", hour}},
		{"sox", "0.3", []string{"sox", hour, "-n", "stat"}},
		{"ffmpeg", "1.0", []string{"ffmpeg", "-nostats", "-hide_banner", "-i", hour, "-af", "ebur128", "-f", "null", "-"}},
	} {
		if _, err := exec.LookPath(peer.name); err != nil {
			r.Logf("%s is missing (apt-get install %s): its row is left out", peer.name, peer.name)
			continue
		}
		if peer.name != "ffmpeg" {
			c := r.measure(9, quick, peer.args)
			r.row("1 h: envelope and pauses", c[0], strings.Join(append(peer.args[:1:1], peer.args[2:]...), " "), c[1], peer.limit)
			continue
		}
		c := r.measure(3, ours, peer.args)
		r.row("1 h: everything heard", c[0], "ffmpeg ebur128", c[1], peer.limit)
	}
	one := r.measure(1, ours)[0]
	r.card(hour)
	r.must(os.Remove(hour))
	eight := filepath.Join(r.dir, "eight.wav")
	r.long(eight, 1, 48000, 24, 8)
	r.row("1 h of 8 channels heard", r.measure(1, []string{r.program, "listen", eight, "--json"})[0], "1 h heard", one, "64 MiB")
	r.must(os.Remove(eight))
	if os.Getenv("RUSHLIGHT_SLOW") == "" {
		r.Log("ten hours are heard with RUSHLIGHT_SLOW=1")
		return
	}
	ten := filepath.Join(r.dir, "ten.wav")
	r.long(ten, 10, 48000, 24, 1)
	r.row("10 h heard", r.measure(1, []string{r.program, "listen", ten, "--json"})[0], "1 h heard", one, "64 MiB, the same for both")
	// At 48 kHz and 24 bit these would be 41 GB.
	r.long(ten, 10, 16000, 16, 8)
	r.row("10 h of 8 channels, 16 kHz/16 bit, heard", r.measure(1, []string{r.program, "listen", ten, "--json"})[0], "1 h heard", one, "64 MiB")
	r.must(os.Remove(ten))
}

// card: two files of an hour beside one, for faults and into a bank; with both
// processors used they take little longer.
func (r *bench) card(hour string) {
	card, half := filepath.Join(r.dir, "card"), filepath.Join(r.dir, "half")
	for _, dir := range []string{card, half} {
		r.must(os.Mkdir(dir, 0o777))
		r.must(os.Link(hour, filepath.Join(dir, "A.wav")))
	}
	r.long(filepath.Join(card, "B.wav"), 1, 48000, 24, 1)
	faults := r.measure(3, []string{r.program, "listen", "--faults", "--json", card}, []string{r.program, "listen", "--faults", "--json", half})
	r.row("faults of a card, 2 × 1 h", faults[0], "1 h", faults[1], "–")
	var in [2][]cost
	for i := range 3 {
		for k, dir := range []string{card, half} {
			b := filepath.Join(r.dir, fmt.Sprintf("taken%d%d", i, k))
			r.must(exec.Command(r.program, "new", b).Run())
			in[k] = append(in[k], r.measure(1, []string{r.program, "--bank", b, "ingest", dir})...)
		}
	}
	for k := range in {
		slices.SortFunc(in[k], func(a, b cost) int { return int(a.wall - b.wall) })
	}
	r.row("a card into the bank, 2 × 1 h", in[0][1], "1 h", in[1][1], "–")
	r.must(os.RemoveAll(card))
	r.must(os.RemoveAll(half))
}

// long writes hours of the samples' first interview, in each channel lower
// than in the one before, with noise that is another each time.
func (r *bench) long(path string, hours, rate, bits, channels int) {
	in, err := sound.Open(filepath.Join("..", "..", "samples", "day1", "D1-INT1.wav"))
	r.must(err)
	defer in.Close()
	var talk []float64
	for {
		block, err := in.Next()
		if err != nil {
			break
		}
		talk = append(talk, block.Samples[0]...)
	}
	up := rate / in.Info().SampleRate
	f, err := os.Create(path)
	r.must(err)
	w, err := sound.NewWriter(f, sound.WriterOptions{SampleRate: rate, Bits: bits, Channels: channels})
	r.must(err)
	left := hours * 3600 * rate
	r.files++
	random := rand.New(rand.NewPCG(1, r.files))
	block := make([][]float64, channels)
	for i := 0; left > 0; {
		for c := range block {
			block[c] = block[c][:0]
		}
		for range min(left, rate) / up {
			a, b := talk[i%len(talk)], talk[(i+1)%len(talk)]
			for k := range up {
				v := a + (b-a)*float64(k)/float64(up) + (random.Float64()-0.5)*1e-3
				for c := range block {
					block[c] = append(block[c], v/float64(c+1))
				}
			}
			i++
		}
		r.must(w.Write(block))
		left -= len(block[0])
	}
	r.must(w.Close())
	r.must(f.Close())
}

// taking: a transcript of two hours into bank and index.
func (r *bench) taking() {
	srt := filepath.Join(r.dir, "long.srt")
	f, err := os.Create(srt)
	r.must(err)
	w := bufio.NewWriter(f)
	random := rand.New(rand.NewPCG(3, 4))
	at := timecode.Ticks(0)
	for n := 1; at < 2*timecode.Hour; n++ {
		out := at + 3*timecode.Second
		fmt.Fprintf(w, "%d\n%s --> %s\n%s\n\n", n, comma(at), comma(out), sentence(random, 7))
		at = out
	}
	r.must(w.Flush())
	r.must(f.Close())
	var costs []cost
	for i := range 3 {
		dir := filepath.Join(r.dir, fmt.Sprintf("bank%d", i))
		r.must(exec.Command(r.program, "new", dir).Run())
		costs = append(costs, r.measure(1, []string{r.program, "--bank", dir, "ingest", srt})...)
	}
	slices.SortFunc(costs, func(a, b cost) int { return int(a.wall - b.wall) })
	r.row("2 h transcript into bank and index", costs[1], "–", cost{}, "2 s")
}

func comma(t timecode.Ticks) string { return strings.Replace(t.String(), ".", ",", 1) }

// sentence makes least to least+4 words with frequencies as in talk: a few
// words come often, most seldom.
func sentence(random *rand.Rand, least int) string {
	n := least + random.IntN(5)
	words := make([]string, n)
	for i := range words {
		k := int(5000 * random.Float64() * random.Float64() * random.Float64())
		words[i] = wordOf(k)
	}
	return strings.ToUpper(words[0][:1]) + words[0][1:] + " " + strings.Join(words[1:], " ") + "."
}

// wordOf spells a number with syllables.
func wordOf(k int) string {
	syllables := []string{"ba", "ne", "ri", "so", "tu", "la", "me", "ki", "do", "fu", "wa", "pe"}
	s := syllables[k%12]
	for k /= 12; k > 0; k /= 12 {
		s += syllables[k%12]
	}
	return s
}

// finding: a whole search on a bank of 100,000 quotes, and of a million,
// beside the program's own help; the larger also beside ripgrep counting the
// word's lines in the same text.
func (r *bench) finding() {
	r.findIn(100_000, "1.5")
	if os.Getenv("RUSHLIGHT_SLOW") == "" {
		r.Log("a million quotes are searched with RUSHLIGHT_SLOW=1")
		return
	}
	r.findIn(1_000_000, "1.3")
}

// findIn searches a bank of so many quotes in reels of 2,500.
func (r *bench) findIn(quotes int, limit string) {
	dir := filepath.Join(r.dir, "big")
	r.must(os.RemoveAll(dir))
	r.must(exec.Command(r.program, "new", dir).Run())
	text, err := os.Create(filepath.Join(r.dir, "big.txt"))
	r.must(err)
	defer text.Close()
	lines := bufio.NewWriter(text)
	ctx := context.Background()
	b, err := bank.Open(ctx, dir, bank.Options{})
	r.must(err)
	random := rand.New(rand.NewPCG(5, 6))
	taken := map[story.Code]bool{}
	_, err = b.Change(ctx, "ingest", "many quotes", func(tx *bank.Tx) error {
		for reel := range quotes / 2500 {
			rec := story.Recording{Reel: fmt.Sprintf("R%03d", reel), Language: "en", Clock: timecode.Clock{Base: timecode.Base{Rate: timecode.Rate25}}}
			if err := tx.PutRecording(rec); err != nil {
				return err
			}
			list := manyQuotes(rec, 2500, random, taken)
			if err := tx.PutQuotes(rec.Reel, list); err != nil {
				return err
			}
			for _, q := range list {
				fmt.Fprintln(lines, q.Text)
			}
		}
		return nil
	})
	r.must(err)
	r.must(b.Close())
	r.must(lines.Flush())
	began := time.Now()
	r.must(exec.Command(r.program, "--bank", dir, "find", "nesoba").Run())
	r.Logf("index of %d quotes built in %s", quotes, time.Since(began).Round(time.Millisecond))
	help := []string{r.program, "--help"}
	for _, q := range []string{"kitula", "neri OR wapeme", "ba"} {
		c := r.measure(41, []string{r.program, "--bank", dir, "find", q}, help)
		r.row(fmt.Sprintf("find '%s' in %d quotes", q, quotes), c[0], "--help", c[1], limit)
	}
	if _, err := exec.LookPath("rg"); err != nil || quotes < 1_000_000 {
		return
	}
	c := r.measure(11, []string{r.program, "--bank", dir, "find", "ba"}, []string{"rg", "-ciw", "ba", text.Name()})
	r.row(fmt.Sprintf("find 'ba' in %d quotes", quotes), c[0], "rg -ciw", c[1], "0.8")
}

func manyQuotes(rec story.Recording, n int, random *rand.Rand, taken map[story.Code]bool) []story.Quote {
	out := make([]story.Quote, n)
	for i := range out {
		in := timecode.Ticks(i) * 3 * timecode.Second
		code := story.NewCode(rec.Reel, in, func(c story.Code) bool { return taken[c] })
		taken[code] = true
		out[i] = story.Quote{
			Code: code, Reel: rec.Reel, Speaker: []string{"Ines", "Joss"}[i%2], Language: "en", Order: i,
			Span: timecode.Span{In: in, Out: in + 2*timecode.Second}, Text: sentence(random, 18), Clock: rec.Clock,
		}
	}
	return out
}
