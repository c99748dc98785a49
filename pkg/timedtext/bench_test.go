package timedtext

import (
	"bytes"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/asticode/go-astisub"

	"rushlight/pkg/timecode"
)

// tenHours is a well-formed document of ten hours: a cue each 2.5 seconds.
func tenHours() *Document {
	d := &Document{}
	words := strings.Fields("it was the bell that people on the far bank rang to call the ferry and nobody rings a bridge")
	for i := range 14_400 {
		in := timecode.FromMillis(int64(i) * 2500)
		line := func(k int) string { return strings.Join(words[k%7:k%7+8], " ") }
		c := Cue{Span: timecode.Span{In: in, Out: in + timecode.FromMillis(2400)}, Lines: Text(line(i), line(i+3))}
		if i%3 == 0 {
			c.Lines[0][0].Style.Italic = true
		}
		d.Cues = append(d.Cues, c)
	}
	return d
}

// BenchmarkReadTenHours reads the same file with this package and with
// go-astisub in the same run; "ratio" is our time over its time. The aim is 0.5.
func BenchmarkReadTenHours(b *testing.B) {
	for _, f := range []Format{SRT, WebVTT} {
		b.Run(string(f), func(b *testing.B) {
			var file bytes.Buffer
			if _, err := Write(&file, tenHours(), f, WriteOptions{}); err != nil {
				b.Fatal(err)
			}
			b.SetBytes(int64(file.Len()))
			theirs := func() int {
				var s *astisub.Subtitles
				var err error
				if f == SRT {
					s, err = astisub.ReadFromSRT(bytes.NewReader(file.Bytes()))
				} else {
					s, err = astisub.ReadFromWebVTT(bytes.NewReader(file.Bytes()))
				}
				if err != nil {
					b.Fatal(err)
				}
				return len(s.Items)
			}
			var us, them time.Duration
			for b.Loop() {
				began := time.Now()
				d, err := Read(bytes.NewReader(file.Bytes()), ReadOptions{})
				if err != nil {
					b.Fatal(err)
				}
				us += time.Since(began)
				began = time.Now()
				if n := theirs(); n != len(d.Cues) {
					b.Fatalf("go-astisub read %d cues, we %d", n, len(d.Cues))
				}
				them += time.Since(began)
			}
			b.ReportMetric(float64(us)/float64(them), "ratio")
			b.ReportMetric(float64(us.Microseconds())/1000/float64(b.N), "ours-ms")
			b.ReportMetric(float64(them.Microseconds())/1000/float64(b.N), "theirs-ms")
		})
	}
}

// BenchmarkReadLarge reads 100 MB of SRT; "heap-MB" is what the document and
// its reading hold at the end, "x-file" the same as a multiple of the file.
func BenchmarkReadLarge(b *testing.B) {
	var cue bytes.Buffer
	for i := range 1000 {
		fmt.Fprintf(&cue, "%d\n00:%02d:%02d,000 --> 00:%02d:%02d,900\nIt was the bell that people on the far bank\nrang to call the ferry.\n\n", i+1, i/60, i%60, i/60, i%60)
	}
	file := bytes.Repeat(cue.Bytes(), 100<<20/cue.Len())
	for b.Loop() {
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		d, err := Read(bytes.NewReader(file), ReadOptions{})
		if err != nil {
			b.Fatal(err)
		}
		runtime.GC()
		runtime.ReadMemStats(&after)
		heap := float64(after.HeapAlloc-before.HeapAlloc) / 1e6
		b.ReportMetric(heap, "heap-MB")
		b.ReportMetric(heap*1e6/float64(len(file)), "x-file")
		b.SetBytes(int64(len(file)))
		runtime.KeepAlive(d)
	}
}
