package sound

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"
	"time"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// BenchmarkRead decodes a minute of 48 kHz/24-bit mono, with the SHA-256 of
// the essence, and has go-audio/wav read the same bytes in the same run:
// "ratio" is its time over ours.
func BenchmarkRead(b *testing.B) {
	file := monoFile(60 * 48000)
	b.SetBytes(int64(len(file)))
	var ours, theirs time.Duration
	for b.Loop() {
		start := time.Now()
		readBench(b, file)
		ours += time.Since(start)
		b.StopTimer()
		start = time.Now()
		referenceBench(b, file)
		theirs += time.Since(start)
		b.StartTimer()
	}
	b.ReportMetric(theirs.Seconds()/ours.Seconds(), "ratio")
}

func readBench(b *testing.B, file []byte) {
	r, err := open(file)
	for err == nil {
		_, err = r.Next()
	}
	if !errors.Is(err, io.EOF) {
		b.Fatal(err)
	}
	if _, err := r.Essence(); err != nil {
		b.Fatal(err)
	}
}

func referenceBench(b *testing.B, file []byte) {
	d := wav.NewDecoder(bytes.NewReader(file))
	buf := &audio.IntBuffer{Data: make([]int, blockBytes/3)}
	for total := 0; ; {
		n, err := d.PCMBuffer(buf)
		if err != nil {
			b.Fatal(err)
		}
		if n == 0 {
			if total != 60*48000 {
				b.Fatalf("reference read %d samples", total)
			}
			return
		}
		total += n
	}
}

// BenchmarkDecode is the loop alone, in bytes of the file.
func BenchmarkDecode(b *testing.B) {
	for _, tt := range []struct {
		bits, channels int
		float          bool
	}{{8, 1, false}, {16, 1, false}, {24, 1, false}, {24, 2, false}, {24, 8, false}, {32, 1, false}, {32, 1, true}, {64, 1, true}} {
		f := format{float: tt.float, channels: tt.channels, container: tt.bits}
		b.Run(fmt.Sprintf("%dbit-%dch-float=%v", tt.bits, tt.channels, tt.float), func(b *testing.B) {
			n := blockBytes / f.frameBytes()
			raw, dst := make([]byte, n*f.frameBytes()), planes(tt.channels, n)
			b.SetBytes(int64(len(raw)))
			for b.Loop() {
				f.decode(dst, raw)
			}
		})
	}
}

// BenchmarkResample is a second of 44.1 kHz brought to 48 kHz.
func BenchmarkResample(b *testing.B) {
	r := newResampler(44100, 48000)
	src := make([]float64, 44100)
	for b.Loop() {
		for k := range int64(48000) {
			whole, rest := r.place(k)
			r.at(src, int(whole), rest)
		}
	}
}
