package sound

import (
	"errors"
	"io"
	"strings"
	"testing"
)

// FuzzReader: any bytes give a refusal with a kind, or a stream that keeps
// the contract of Next and never more frames than the bytes can hold.
func FuzzReader(f *testing.F) {
	for _, c := range cases {
		f.Add(c.file)
	}
	f.Add(soundWith(func(w *wave) { w.chunk("iXML", []byte(ixml)).chunk("bext", bextBytes(2, 5)) }, func(w *wave) {
		w.chunk("cue ", cueChunk(2, cuePoint(1, 5), cuePoint(2, 7))).chunk("LIST", adtl(label("labl", 1, "a"), label("ltxt", 2, "b")))
	}))
	f.Fuzz(func(t *testing.T, file []byte) {
		r, err := open(file)
		if err != nil {
			var fe *FileError
			if !errors.As(err, &fe) || fe.Problem == "" || strings.Contains(err.Error(), "\n") {
				t.Fatalf("refusal without a place or in several lines: %v", err)
			}
			for _, kind := range []error{ErrNotWave, ErrFormat, ErrEmpty, ErrTruncated} {
				if errors.Is(err, kind) {
					return
				}
			}
			t.Fatalf("refusal without a kind: %v", err)
		}
		info := r.Info()
		if info.Frames < 1 || info.Frames*int64(info.Channels*info.Bits/8) > int64(len(file)) {
			t.Fatalf("%d frames in %d bytes", info.Frames, len(file))
		}
		for _, m := range info.Markers {
			if m.Frame < 0 || m.Frame > info.Frames {
				t.Fatalf("marker at %d of %d", m.Frame, info.Frames)
			}
		}
		for _, s := range drain(t, r) {
			for _, v := range s {
				if v != v || v-v != 0 {
					t.Fatalf("sample %v", v)
				}
			}
		}
		if _, err := r.Essence(); err != nil {
			t.Fatal(err)
		}
		if err := r.SeekFrame(info.Frames); err != nil {
			t.Fatal(err)
		}
		if _, err := r.Next(); !errors.Is(err, io.EOF) {
			t.Fatalf("at the end: %v", err)
		}
	})
}
