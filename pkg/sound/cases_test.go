package sound

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
)

// want is what a case expects; kind is nil where the file must be read.
type want struct {
	kind       error
	text       string // part of the problem or of a note
	hint       string // part of the hint
	notes      int
	frames     int
	unfinished bool
	samples    []float64 // channel 0, if given; else the ramp
}

// cases are the faults and layouts that the reader must cope with. Where the
// ramp is expected, sample i is (i+1)/32768.
var cases = []struct {
	name string
	file []byte
	want want
}{
	{"16 bit mono", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(9)).finish(), want{frames: 9}},
	{"8 bit is unsigned", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 8000, 8)).chunk("data", []byte{0, 64, 128, 255}).finish(), want{frames: 4, samples: []float64{-1, -0.5, 0, 127.0 / 128}}},
	{"24 bit", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 24)).chunk("data", ramp24(7)).finish(), want{frames: 7}},
	{"24 bit extremes", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 24)).chunk("data", []byte{0, 0, 0x80, 0xFF, 0xFF, 0x7F, 0xFF, 0xFF, 0xFF}).finish(), want{frames: 3, samples: []float64{-1, 8388607.0 / 8388608, -1.0 / 8388608}}},
	{"32 bit", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 32)).chunk("data", []byte{0, 0, 0, 0x80, 0, 0, 0, 0x40}).finish(), want{frames: 2, samples: []float64{-1, 0.5}}},
	{"float 32 goes beyond full scale", newWave("RIFF").chunk("fmt ", fmtChunk(3, 1, 48000, 32)).chunk("data", float32s(0.25, -1.5)).finish(), want{frames: 2, samples: []float64{0.25, -1.5}}},
	{"float 64", newWave("RIFF").chunk("fmt ", fmtChunk(3, 1, 48000, 64)).chunk("data", float64s(1.0/3, -1)).finish(), want{frames: 2, samples: []float64{1.0 / 3, -1}}},
	{"float samples that are no numbers", newWave("RIFF").chunk("fmt ", fmtChunk(3, 1, 48000, 32)).chunk("data", float32s(math.NaN(), 0.5, math.Inf(1), math.Inf(-1))).finish(), want{frames: 4, samples: []float64{0, 0.5, 0, 0}, notes: 1, text: "3 float samples were no numbers"}},
	{"float 64 that is no number", newWave("RIFF").chunk("fmt ", fmtChunk(3, 1, 48000, 64)).chunk("data", float64s(math.NaN(), 0.5)).finish(), want{frames: 2, samples: []float64{0, 0.5}, notes: 1, text: "1 float samples"}},
	{"extensible, 20 valid bits in 24", newWave("RIFF").chunk("fmt ", fmtExtensible(1, guidTail, 1, 48000, 24, 20, 4)).chunk("data", ramp24(5)).finish(), want{frames: 5}},
	{"extensible float", newWave("RIFF").chunk("fmt ", fmtExtensible(3, guidTail, 1, 48000, 32, 32, 4)).chunk("data", float32s(0.5)).finish(), want{frames: 1, samples: []float64{0.5}}},
	{"extensible ambisonic", newWave("RIFF").chunk("fmt ", fmtExtensible(1, guidAmbisonic, 4, 48000, 16, 16, 0)).chunk("data", make([]byte, 16)).finish(), want{frames: 2, notes: 1, text: "ambisonic", samples: []float64{0, 0}}},
	{"extensible with an unknown subformat", newWave("RIFF").chunk("fmt ", fmtExtensible(1, "abcdefghijkl", 1, 48000, 16, 16, 0)).chunk("data", ramp16(4)).finish(), want{kind: ErrFormat, text: "unknown subformat", hint: "ffmpeg"}},
	{"extensible cut short", newWave("RIFF").chunk("fmt ", append(fmtChunk(tagExtensible, 1, 48000, 16), 0, 0)).chunk("data", ramp16(4)).finish(), want{frames: 4, notes: 1, text: "integer PCM assumed"}},
	{"RF64", newWave("RF64").chunk("ds64", ds64Chunk(100, 8, 4)).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", unknownSize, ramp16(4)).finish(), want{frames: 4}},
	{"BW64 with a chunk after the data", newWave("BW64").chunk("ds64", ds64Chunk(100, 8, 4)).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", unknownSize, ramp16(4)).chunk("axml", []byte("<x/>")).finish(), want{frames: 4}},
	{"RF64 without ds64", newWave("RF64").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", unknownSize, ramp16(4)).finish(), want{frames: 4, unfinished: true, notes: 2, text: "without a ds64 chunk"}},
	{"RF64 never closed", newWave("RF64").chunk("ds64", ds64Chunk(0, 0, 0)).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", unknownSize, ramp16(4)).finish(), want{frames: 4, unfinished: true, notes: 1, text: "written as 0"}},
	{"RF64 claiming more than there is", newWave("RF64").chunk("ds64", ds64Chunk(1<<40, 1<<63, 0)).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", unknownSize, ramp16(4)).finish(), want{frames: 4, unfinished: true, notes: 1, text: "the header claims"}},
	{"JUNK and PAD before and after the data", newWave("RIFF").chunk("JUNK", make([]byte, 28)).chunk("PAD ", make([]byte, 10)).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).chunk("LIST", []byte("INFOISFT\x04\x00\x00\x00abcd")).chunk("JUNK", nil).finish(), want{frames: 4}},
	{"odd chunk with its pad byte", newWave("RIFF").chunk("JUNK", []byte("odd")).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).finish(), want{frames: 4}},
	{"odd chunk without its pad byte", newWave("RIFF").claim("JUNK", 3, []byte("odd")).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).finish(), want{frames: 4, notes: 1, text: "no pad byte"}},
	{"odd data without its pad byte, then a chunk", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 8)).claim("data", 3, []byte{128, 192, 64}).chunk("LIST", []byte("INFO")).finish(), want{frames: 3, samples: []float64{0, 0.5, -0.5}, notes: 1, text: "no pad byte"}},
	{"fmt claiming 2 GiB", newWave("RIFF").claim("fmt ", 1<<31-1, fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).finish(), want{frames: 4, notes: 2, text: "found by searching"}},
	{"LIST claiming 2 GiB", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("LIST", 1<<31-1, []byte("INFO")).chunk("data", ramp16(4)).finish(), want{frames: 4, notes: 2, text: "claims 2147483647 bytes"}},
	{"LIST claiming 2 GiB after the data", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).claim("LIST", 1<<31-1, []byte("INFO")).finish(), want{frames: 4, notes: 1, text: "claims 2147483647 bytes"}},
	{"data size 0xFFFFFFFF", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", unknownSize, ramp16(4)).finish(), want{frames: 4, unfinished: true, notes: 1, text: "never closed"}},
	{"data size 0", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", 0, ramp16(4)).finish(), want{frames: 4, unfinished: true, notes: 1, text: "never closed"}},
	{"data size 0 and silence", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", 0, make([]byte, 64)).finish(), want{frames: 32, unfinished: true, notes: 1, text: "never closed", samples: make([]float64, 32)}},
	{"data size 0 and half a frame", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", 0, append(ramp16(4), 9)).finish(), want{frames: 4, unfinished: true, notes: 2, text: "unfinished last frame"}},
	{"data size of when the header was last written", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", 1000, make([]byte, 100_000)).finish(), want{frames: 50_000, unfinished: true, notes: 1, text: "99000 more follow", samples: make([]float64, 50_000)}},
	{"a tail that is no chunk", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).raw(make([]byte, 128)).raw([]byte{1}).finish(), want{frames: 4, notes: 1, text: "after the last chunk left out"}},
	{"a long chunk that nobody knows", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).chunk("farb", make([]byte, 100_000)).finish(), want{frames: 4}},
	{"data size beyond the file", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", 1000, ramp16(4)).finish(), want{frames: 4, unfinished: true, notes: 1, text: "claims 1000 bytes of sound, the file has 8"}},
	{"no samples at all", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", nil).finish(), want{kind: ErrEmpty, text: "no samples", hint: "card"}},
	{"no samples, then a list", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", nil).chunk("LIST", []byte("INFO")).finish(), want{kind: ErrEmpty, text: "no samples", hint: "card"}},
	{"part of a last frame", newWave("RIFF").chunk("fmt ", fmtChunk(1, 2, 48000, 16)).chunk("data", make([]byte, 10)).finish(), want{frames: 2, samples: []float64{0, 0}, notes: 1, text: "an unfinished last frame left out: 2 of its 4 bytes are there"}},
	{"several data chunks", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).chunk("data", make([]byte, 100)).finish(), want{frames: 4, notes: 1, text: "another data chunk"}},
	{"several fmt chunks", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("fmt ", fmtChunk(1, 2, 8000, 8)).chunk("data", ramp16(4)).finish(), want{frames: 4, notes: 1, text: "another fmt chunk"}},
	{"fmt after the data", newWave("RIFF").chunk("data", ramp16(4)).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).finish(), want{frames: 4}},
	{"wrong block size", newWave("RIFF").chunk("fmt ", fmtAligned(1, 1, 48000, 16, 7)).chunk("data", ramp16(4)).finish(), want{frames: 4, notes: 1, text: "block size 7, want 2"}},
	{"24 bits in 32 without extension", newWave("RIFF").chunk("fmt ", fmtAligned(1, 1, 48000, 24, 4)).chunk("data", []byte{0, 0, 0, 0x40}).finish(), want{frames: 1, notes: 1, text: "stored in 32 bits", samples: []float64{0.5}}},
	{"12 bits in 16", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 12)).chunk("data", ramp16(4)).finish(), want{frames: 4}},
	{"0 bits, block size tells", newWave("RIFF").chunk("fmt ", fmtAligned(1, 1, 48000, 0, 2)).chunk("data", ramp16(4)).finish(), want{frames: 4, notes: 1, text: "0 bits per sample"}},
	{"16-bit float", newWave("RIFF").chunk("fmt ", fmtChunk(3, 1, 48000, 16)).chunk("data", ramp16(4)).finish(), want{kind: ErrFormat, text: "16-bit float", hint: "ffmpeg"}},
	{"64-bit integer", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 64)).chunk("data", ramp16(4)).finish(), want{kind: ErrFormat, text: "64-bit integer", hint: "ffmpeg"}},
	{"0 channels", newWave("RIFF").chunk("fmt ", fmtChunk(1, 0, 48000, 16)).chunk("data", ramp16(4)).finish(), want{kind: ErrFormat, text: "0 channels", hint: "copy"}},
	{"65 channels", newWave("RIFF").chunk("fmt ", fmtChunk(1, 65, 48000, 16)).chunk("data", ramp16(400)).finish(), want{kind: ErrFormat, text: "65 channels", hint: "copy"}},
	{"0 Hz", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 0, 16)).chunk("data", ramp16(4)).finish(), want{kind: ErrFormat, text: "sample rate 0 Hz", hint: "copy"}},
	{"4 GHz", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 4_000_000_000, 16)).chunk("data", ramp16(4)).finish(), want{kind: ErrFormat, text: "4000000000 Hz", hint: "copy"}},
	{"IMA ADPCM", newWave("RIFF").chunk("fmt ", fmtChunk(0x11, 1, 48000, 4)).chunk("data", ramp16(4)).finish(), want{kind: ErrFormat, text: "0x0011 (IMA ADPCM)", hint: "ffmpeg"}},
	{"a format nobody knows", newWave("RIFF").chunk("fmt ", fmtChunk(0x4242, 1, 48000, 16)).chunk("data", ramp16(4)).finish(), want{kind: ErrFormat, text: "0x4242 (unknown)", hint: "ffmpeg"}},
	{"big-endian", newWave("RIFX").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).finish(), want{kind: ErrFormat, text: "big-endian", hint: "ffmpeg"}},
	{"empty file", nil, want{kind: ErrEmpty, text: "no bytes", hint: "card"}},
	{"three bytes", []byte("RIF"), want{kind: ErrTruncated, text: "3 bytes of header", hint: "card"}},
	{"eleven bytes", []byte("RIFF\x00\x00\x00\x00WAV"), want{kind: ErrTruncated, text: "11 bytes of header", hint: "card"}},
	{"header only", newWave("RIFF").finish(), want{kind: ErrTruncated, text: "the header ends", hint: "card"}},
	{"cut within fmt", newWave("RIFF").claim("fmt ", 16, []byte{1, 0, 1, 0}).finish(), want{kind: ErrTruncated, text: "fmt chunk of 4 bytes", hint: "card"}},
	{"cut after fmt", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("JUNK", make([]byte, 100)).finish(), want{kind: ErrTruncated, text: "before its sound data", hint: "card"}},
	{"no fmt", newWave("RIFF").chunk("data", ramp16(400)).finish(), want{kind: ErrFormat, text: "no fmt chunk", hint: "card"}},
	{"text renamed .wav", []byte("INES: It was the bell, first.\n"), want{kind: ErrNotWave, text: `it starts with "INES: It"`, hint: "is it sound"}},
	{"zeros", make([]byte, 5000), want{kind: ErrNotWave, text: "want RIFF", hint: "is it sound"}},
	{"a picture in RIFF", []byte("RIFF\x10\x00\x00\x00WEBPVP8 ...."), want{kind: ErrNotWave, text: `type "WEBP"`, hint: "ffmpeg"}},
	{"FLAC renamed", []byte("fLaC\x00\x00\x00\x22...."), want{kind: ErrNotWave, text: "want RIFF", hint: "FLAC"}},
	{"junk after the data", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).raw([]byte("\x01\x02\x03junkjunkjunk")).finish(), want{frames: 4, notes: 1, text: "15 bytes after the last chunk"}},
	{"a few bytes after the data", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).raw([]byte("abc")).finish(), want{frames: 4, notes: 1, text: "3 bytes after the last chunk"}},
	{"zeros after the data", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).raw(make([]byte, 4)).finish(), want{frames: 4}},
	{"bytes that are no chunk before the data", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).raw([]byte{0, 1, 2, 3, 4, 5}).chunk("data", ramp16(4)).finish(), want{frames: 4, notes: 2, text: "found by searching"}},
	{"RF64 with a table of long chunks", newWave("RF64").chunk("ds64", func() []byte {
		b := ds64Chunk(0, 8, 4)
		le.PutUint32(b[24:], 1)
		return le.AppendUint64(append(b, "JUNK"...), 6)
	}()).claim("JUNK", unknownSize, make([]byte, 6)).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", unknownSize, ramp16(4)).finish(), want{frames: 4}},
	{"RF64 whose ds64 is too short", newWave("RF64").chunk("ds64", make([]byte, 8)).chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("data", unknownSize, ramp16(4)).finish(), want{frames: 4, unfinished: true, notes: 3, text: "ds64 of 8 bytes"}},
	{"a hundred faults", func() []byte {
		w := newWave("RIFF")
		for range 100 {
			w.chunk("fmt ", fmtChunk(1, 1, 48000, 16))
		}
		return w.chunk("data", ramp16(4)).finish()
	}(), want{frames: 4, notes: maxNotes + 1, text: "and 59 more like these"}},
	{"RIFF size 0", func() []byte {
		b := newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).chunk("data", ramp16(4)).finish()
		le.PutUint32(b[4:], 0)
		return b
	}(), want{frames: 4}},
}

func TestCases(t *testing.T) {
	for _, tt := range cases {
		t.Run(tt.name, func(t *testing.T) {
			r, err := open(tt.file)
			if tt.want.kind != nil {
				refused(t, err, tt.want)
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			got := drain(t, r)
			info := r.Info()
			if info.Frames != int64(tt.want.frames) || info.Unfinished != tt.want.unfinished {
				t.Errorf("got %d frames, unfinished %v; want %d, %v", info.Frames, info.Unfinished, tt.want.frames, tt.want.unfinished)
			}
			if len(info.Notes) != tt.want.notes || !strings.Contains(strings.Join(info.Notes, "\n"), tt.want.text) {
				t.Errorf("got notes %q, want %d with %q", info.Notes, tt.want.notes, tt.want.text)
			}
			samples := tt.want.samples
			if tt.want.samples == nil {
				for i := range tt.want.frames {
					samples = append(samples, rampValue(i))
				}
			}
			if !slices.Equal(got[0], samples) {
				t.Errorf("got %v, want %v", got[0], samples)
			}
		})
	}
}

// refused holds an error to what every refusal must have.
func refused(t *testing.T, err error, want want) {
	t.Helper()
	if !errors.Is(err, want.kind) {
		t.Fatalf("got %v, want %v", err, want.kind)
	}
	var fe *FileError
	if !errors.As(err, &fe) {
		t.Fatalf("got %T, want *FileError", err)
	}
	if fe.Name != "test.wav" || fe.Offset < 0 || !strings.Contains(fe.Problem, want.text) || !strings.Contains(fe.Hint, want.hint) {
		t.Errorf("got %+v, want problem %q, hint %q, a name and an offset", *fe, want.text, want.hint)
	}
	if strings.Contains(err.Error(), "\n") {
		t.Errorf("message %q has several lines", err)
	}
}
