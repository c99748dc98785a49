package sound

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

// Metadata as ffmpeg writes it into camera formats. The sample counts of the
// labels are calculated here: 29.97 DF 01:00:00;00 is frame 107892 (SMPTE ST
// 12-1), 107892 · 1001/30000 s · 48000 = 172799827.2; 00:10:00;00 is frame
// 17982, 28799971.2.
func TestMediaMetadata(t *testing.T) {
	t.Parallel()
	wav := noise(t, 1, mediaFrames)
	tests := []struct {
		name  string
		rate  string // of the picture, "" for none
		args  []string
		start int64
		base  timecode.Base
		tape  string
		text  string
		date  string
	}{
		{
			"MOV, drop-frame", "30000/1001",
			[]string{"-c:v", "mpeg4", "-c:a", "pcm_s24le", "-timecode", "01:00:00;00", "-metadata:s:v", "reel_name=A001", "-metadata", "title=Winch shed", "-metadata", "comment=Ines alone", "-metadata", "creation_time=2031-09-14T10:00:12Z", "a.mov"},
			172799827,
			timecode.Base{Rate: timecode.Rate2997, Drop: true},
			"A001", "Winch shed; Ines alone", "2031-09-14 10:00:12",
		},
		{
			"MP4, drop-frame", "30000/1001",
			[]string{"-c:v", "mpeg4", "-c:a", "aac", "-timecode", "00:10:00;00", "-metadata", "title=Landing", "a.mp4"},
			28799971,
			timecode.Base{Rate: timecode.Rate2997, Drop: true},
			"", "Landing", "",
		},
		{
			"MXF", "25",
			[]string{"-c:v", "mpeg2video", "-c:a", "pcm_s24le", "-timecode", "10:00:12:05", "-metadata", "reel_name=B012", "-metadata", "creation_time=2031-09-15T07:30:00Z", "a.mxf"},
			(36012*25 + 5) * 1920,
			timecode.Base{Rate: timecode.Rate25},
			"B012", "", "2031-09-15 07:30:00",
		},
		{"Matroska", "25", []string{"-c:v", "mpeg4", "-c:a", "flac", "-metadata", "timecode=09:59:00:24", "-metadata", "description=Far bank", "a.mkv"}, (35940*25 + 24) * 1920, timecode.Base{Rate: timecode.Rate25}, "", "Far bank", ""},
		{"a label without a rate", "", []string{"-c:a", "flac", "-metadata", "timecode=09:59:00:24", "-metadata", "title=Far bank", "a.flac"}, -1, timecode.Base{}, "", "Far bank", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			args := []string{"-i", wav}
			if tt.rate != "" {
				args = append(args, picture(tt.rate)...)
			}
			info := openedMedia(t, encoded(t, append(args, tt.args...)...)).Info()
			p, b := Production{StartSamples: -1}, Broadcast{}
			if info.Production != nil {
				p = *info.Production
			}
			if info.Broadcast != nil {
				b = *info.Broadcast
			}
			if p.StartSamples != tt.start || p.Base != tt.base || p.Tape != tt.tape {
				t.Errorf("got start %d, base %v, tape %q; want %d, %v, %q", p.StartSamples, p.Base, p.Tape, tt.start, tt.base, tt.tape)
			}
			if b.TimeReference != uint64(max(0, tt.start)) || b.Description != tt.text || strings.TrimSpace(b.Date+" "+b.Time) != tt.date {
				t.Errorf("got reference %d, text %q, date %q %q; want %d, %q, %q", b.TimeReference, b.Description, b.Date, b.Time, max(0, tt.start), tt.text, tt.date)
			}
			if wantNote := tt.rate == ""; wantNote != (len(info.Notes) == 1) {
				t.Errorf("got notes %q", info.Notes)
			}
		})
	}
}

// Sound that begins half a second after the picture has a timecode half a
// second later; a second stream that begins later is laid where it belongs,
// a shorter one ends in silence, one of another rate is left out.
func TestMediaStreamsThatDiffer(t *testing.T) {
	t.Parallel()
	a, b := noise(t, 1, mediaFrames), noise(t, 2, 24000)
	wantA, _ := readAll(t, a)
	wantB, _ := readAll(t, b)
	late := openedMedia(t, encoded(t, append(append([]string{"-itsoffset", "0.5", "-i", a}, picture("25")...),
		"-map", "0", "-map", "1", "-c:v", "mpeg4", "-c:a", "pcm_s24le", "-timecode", "01:00:00:00", "a.mov")...))
	if got, want := late.Info().Production.StartSamples, int64(3600*48000+24000); got != want {
		t.Errorf("late sound: got start %d, want %d", got, want)
	}
	sameAs(t, "late sound: the WAV has", drainMedia(t, late), wantA, 0)
	seeks(t, late, wantA, 0)

	other := encoded(t, "-f", "lavfi", "-i", "sine=r=44100:d=3", "o.wav")
	s := openedMedia(t, encoded(t, "-i", a, "-itsoffset", "0.25", "-i", b, "-i", other, "-map", "0", "-map", "1", "-map", "2", "-c:a", "pcm_s24le", "a.mov"))
	want := [][]float64{wantA[0], make([]float64, mediaFrames), make([]float64, mediaFrames)}
	for c, v := range wantB {
		copy(want[c+1][12000:], v)
	}
	sameAs(t, "streams of two lengths: the WAVs have", drainMedia(t, s), want, 0)
	seeks(t, s, want, 0)
	if notes := s.Info().Notes; len(notes) != 1 || !strings.Contains(notes[0], "44100") {
		t.Errorf("got notes %q, want one about the stream at 44100 Hz", notes)
	}
}

// What a file is shows in its bytes, not in its name, and no name is taken
// for an option, a protocol or a pattern.
func TestMediaNames(t *testing.T) {
	wav := noise(t, 1, 4800)
	flac := encoded(t, "-i", wav, "-c:a", "flac", "a.flac")
	content, err := os.ReadFile(flac)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	for _, name := range []string{"-y.flac", "http:x.flac", "take %03d 'ä'.FLAC", "named.wav"} {
		if err := os.WriteFile(name, content, 0o600); err != nil {
			t.Fatal(err)
		}
		if got := drainMedia(t, openedMedia(t, name)); len(got[0]) != 4800 {
			t.Errorf("%s: got %d frames, want 4800", name, len(got[0]))
		}
	}
	sum := sha256.Sum256(content)
	hash, info, err := EssenceMedia(context.Background(), "-y.flac")
	if err != nil || hash != hex.EncodeToString(sum[:]) || info.Frames != 4800 {
		t.Errorf("essence: got %s, %d frames, %v; want %x", hash, info.Frames, err, sum)
	}
	s := openedMedia(t, "-y.flac")
	drainMedia(t, s)
	if got, err := s.Essence(); err != nil || got != hash {
		t.Errorf("essence of the stream: got %s, %v, want %s", got, err, hash)
	}
	s = openedMedia(t, "-y.flac")
	s.SkipEssence()
	if _, err := s.Essence(); !errors.Is(err, ErrNotSequential) {
		t.Errorf("essence after SkipEssence: got %v, want %v", err, ErrNotSequential)
	}
}

// Without ffmpeg, WAV is read whatever its name; the rest says what is
// missing and how to get it.
func TestMediaWithoutDecoder(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("PATH", dir)
	wav := noise(t, 1, 4800)
	b, err := os.ReadFile(wav)
	if err != nil {
		t.Fatal(err)
	}
	put := func(name string, content []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	named := put("camera.mov", b)
	if s := openedMedia(t, named); s.Info().Container != "RIFF" || s.Info().Codec != "" {
		t.Errorf("WAV by another name: got %+v", s.Info())
	}
	if got, _, err := EssenceMedia(context.Background(), named); err != nil {
		t.Error(err)
	} else if want, _, _ := Essence(wav); got != want {
		t.Errorf("essence of WAV by another name: got %s, want %s", got, want)
	}
	for name, want := range map[string]error{"a.mov": ErrNoDecoder, "a.MXF": ErrNoDecoder, "a.txt": ErrNotWave, "a.wav": ErrNotWave} {
		_, err := OpenMedia(context.Background(), put(name, []byte("....ftypqt  and more")))
		var fe *FileError
		if !errors.Is(err, want) || !errors.As(err, &fe) {
			t.Errorf("%s: got %v, want %v", name, err, want)
			continue
		}
		if want == ErrNoDecoder && (!strings.Contains(err.Error(), "ffmpeg is not on the PATH") || !strings.Contains(fe.Hint, "apt-get install ffmpeg")) {
			t.Errorf("%s: got %q with hint %q", name, err, fe.Hint)
		}
		if _, _, err := EssenceMedia(context.Background(), filepath.Join(dir, name)); !errors.Is(err, want) {
			t.Errorf("%s: essence: got %v, want %v", name, err, want)
		}
	}
}

func TestMediaRefuses(t *testing.T) {
	t.Parallel()
	wav := noise(t, 1, mediaFrames)
	dir := t.TempDir()
	whole, err := os.ReadFile(encoded(t, "-i", wav, "-c:a", "aac", "a.mp4")) // its index lies at the end
	if err != nil {
		t.Fatal(err)
	}
	put := func(name string, content []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	zeros := make([]byte, 100_000)
	tests := []struct {
		name, path string
		want       error
		text       string
	}{
		{"no audio", encoded(t, append(picture("25"), "-c:v", "mpeg4", "v.mov")...), ErrNoSound, "video only"},
		{"no bytes", put("empty.mov", nil), ErrEmpty, "no bytes"},
		{"noise", put("noise.mp3", zeros), ErrMedia, ""},
		{"cut before the index", put("cut.mp4", whole[:len(whole)/2]), ErrMedia, "moov atom not found"},
		{"text", put("notes.txt", []byte("Winch shed, two chairs.\n")), ErrNotWave, ""},
		{"text as MOV", put("notes.mov", []byte("Winch shed, two chairs.\n")), ErrMedia, ""},
		{"playlist", put("list.mov", []byte("#EXTM3U\n#EXT-X-TARGETDURATION:3\n#EXTINF:3,\nfile:"+wav+"\n#EXT-X-ENDLIST\n")), ErrMedia, ""},
		{"folder", dir, ErrNotWave, "folder"},
		{"missing", filepath.Join(dir, "none.mov"), os.ErrNotExist, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := OpenMedia(context.Background(), tt.path)
			if err == nil {
				_, err = s.Next()
				s.Close()
			}
			if !errors.Is(err, tt.want) || !strings.Contains(err.Error(), tt.text) {
				t.Errorf("got %v, want %v with %q", err, tt.want, tt.text)
			}
			if strings.Contains(err.Error(), "0x5") {
				t.Errorf("an address in the message: %v", err)
			}
		})
	}
}

// A file that was cut, or damaged inside, is read as far as it goes, and says
// so.
func TestMediaDamaged(t *testing.T) {
	t.Parallel()
	wav := noise(t, 1, mediaFrames)
	want, _ := readAll(t, wav)
	dir := t.TempDir()
	tests := []struct {
		name   string
		exact  bool
		damage func([]byte) []byte
		args   []string
	}{
		{"MOV cut", true, func(b []byte) []byte { return b[:len(b)*6/10] }, []string{"-c:a", "pcm_s24le", "-movflags", "+faststart", "a.mov"}},
		{"FLAC cut", true, func(b []byte) []byte { return b[:len(b)*6/10] }, []string{"-c:a", "flac", "-sample_fmt", "s32", "a.flac"}},
		{"AAC with a hole", false, func(b []byte) []byte { clear(b[len(b)/3 : len(b)/2]); return b }, []string{"-c:a", "aac", "-b:a", "192k", "-movflags", "+faststart", "a.mp4"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b, err := os.ReadFile(encoded(t, append([]string{"-i", wav}, tt.args...)...))
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(dir, tt.args[len(tt.args)-1])
			if err := os.WriteFile(path, tt.damage(b), 0o600); err != nil {
				t.Fatal(err)
			}
			s := openedMedia(t, path)
			claimed := s.Info().Frames
			got := drainMedia(t, s)
			info := s.Info()
			t.Logf("claimed %d, got %d, notes %q", claimed, len(got[0]), info.Notes)
			if len(info.Notes) == 0 {
				t.Error("got no note")
			}
			if !tt.exact {
				// What lies behind the hole stays in its place.
				if lag, likeness := offset(got[0][60_000:], want[0][60_000:]); lag != 0 || likeness < 0.9 {
					t.Errorf("behind the hole: got %+d samples with correlation %.2f, want 0", lag, likeness)
				}
				return
			}
			if !info.Unfinished || len(got[0]) < mediaFrames*5/10 {
				t.Errorf("got %d frames, unfinished %v; want more than half of them, true", len(got[0]), info.Unfinished)
			}
			sameAs(t, "the WAV has", got, [][]float64{want[0][:len(got[0])]}, 0)
			if again := rewound(t, s); !slices.EqualFunc(again, got, slices.Equal) || len(s.Info().Notes) != len(info.Notes) {
				t.Errorf("read again: got %d frames, notes %q", len(again[0]), s.Info().Notes)
			}
		})
	}
}

func rewound(t *testing.T, s Stream) [][]float64 {
	t.Helper()
	if err := s.SeekFrame(0); err != nil {
		t.Fatal(err)
	}
	return drainMedia(t, s)
}

// Float samples that are no numbers are 0, as in WAV.
func TestMediaNaN(t *testing.T) {
	need(t, "ffmpeg")
	samples := make([]float64, 4800)
	samples[100], samples[200] = math.NaN(), math.Inf(1)
	raw := make([]byte, 0, 4*len(samples))
	for _, v := range samples {
		u := math.Float32bits(float32(v))
		raw = append(raw, byte(u), byte(u>>8), byte(u>>16), byte(u>>24))
	}
	path := filepath.Join(t.TempDir(), "n.raw")
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	s := openedMedia(t, encoded(t, "-f", "f32le", "-ar", "48000", "-i", path, "-c:a", "pcm_f32le", "a.mov"))
	for i, v := range drainMedia(t, s)[0] {
		if v != 0 {
			t.Fatalf("sample %d: got %v, want 0", i, v)
		}
	}
	if notes := s.Info().Notes; len(notes) != 1 || !strings.Contains(notes[0], "no numbers") {
		t.Errorf("got notes %q", notes)
	}
}
