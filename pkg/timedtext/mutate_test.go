package timedtext

import (
	"bytes"
	"math/rand/v2"
	"os"
	"testing"
	"time"
)

// Random mutations of good files of every format: no panic, no hang, and what
// is read can be written. 4,000 of them, with RUSHLIGHT_SLOW 100,000.
func TestMutations(t *testing.T) {
	var files [][]byte
	var formats []Format
	for _, f := range allFormats {
		var b bytes.Buffer
		if _, err := Write(&b, farBank(), f, WriteOptions{Base: at25}); err != nil {
			t.Fatal(err)
		}
		files, formats = append(files, b.Bytes()), append(formats, f)
	}
	for i, s := range fuzzSeeds[:7] {
		files, formats = append(files, []byte(s)), append(formats, []Format{SRT, WebVTT, TTML, ASS, PlainText, JSON, CSV}[i])
	}
	n := 4000
	if os.Getenv("RUSHLIGHT_SLOW") != "" {
		n = 100_000
	}
	r := rand.New(rand.NewPCG(1, 2))
	read, slowest := 0, time.Duration(0)
	for i := range n {
		k := i % len(files)
		data := mutate(r, files[k], files[r.IntN(len(files))])
		as := formats[k]
		if r.IntN(4) == 0 {
			as = ""
		}
		began := time.Now()
		checkRead(t, data, as)
		slowest = max(slowest, time.Since(began))
		read++
	}
	t.Logf("%d mutations read, the slowest in %v", read, slowest)
}

// mutate changes, cuts, doubles or swaps stretches of a file.
func mutate(r *rand.Rand, file, other []byte) []byte {
	out := bytes.Clone(file)
	for range 1 + r.IntN(8) {
		if len(out) < 4 {
			return out
		}
		at := r.IntN(len(out))
		n := min(1+r.IntN(40), len(out)-at)
		switch r.IntN(6) {
		case 0:
			out[at] = byte(r.IntN(256))
		case 1:
			out = append(out[:at], out[at+n:]...)
		case 2:
			out = append(out[:at+n], out[at:]...)
		case 3:
			from := r.IntN(len(other))
			out = append(out[:at:at], append(bytes.Clone(other[from:min(from+n, len(other))]), out[at:]...)...)
		case 4:
			const marks = "<>&{}[]():;,.-\n\r\t\"\\/0123456789\x00\x80\xff"
			out[at] = marks[r.IntN(len(marks))]
		case 5:
			out = out[:at]
		}
	}
	return out
}
