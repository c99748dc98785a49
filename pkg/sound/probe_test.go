package sound

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

var _ Stream = (*Reader)(nil)

// What ffprobe 5.1.9 printed of a camera file, shortened.
const probedMOV = `{"streams":[
{"index":0,"codec_name":"mpeg4","codec_type":"video","r_frame_rate":"30000/1001","avg_frame_rate":"30000/1001","time_base":"1/30000","start_time":"0.000000","duration_ts":90090,"disposition":{"attached_pic":0},"tags":{"timecode":"01:00:00;00"}},
{"index":1,"codec_name":"pcm_s24le","codec_type":"audio","sample_rate":"48000","channels":1,"bits_per_sample":24,"time_base":"1/48000","start_time":"0.000000","duration_ts":144000,"bits_per_raw_sample":"24"},
{"index":2,"codec_type":"data","codec_tag_string":"tmcd","r_frame_rate":"0/0","avg_frame_rate":"30000/1001","tags":{"reel_name":"A001","timecode":"01:00:00;00"}}],
"format":{"format_name":"mov,mp4,m4a,3gp,3g2,mj2","start_time":"0.000000","duration":"3.003000","tags":{"creation_time":"2031-09-14T10:00:12.000000Z","title":"Winch shed"}}}`

func describeProbed(t testing.TB, text string) (*mediaInfo, error) {
	t.Helper()
	p := &probed{}
	if err := json.Unmarshal([]byte(text), p); err != nil {
		t.Skip(err)
	}
	return p.describe("a.mov")
}

// What can't be made with ffmpeg's own encoders is tried on its output.
func TestProbed(t *testing.T) {
	change := func(old, put string) string {
		if !strings.Contains(probedMOV, old) {
			t.Fatalf("%q isn't in the sample", old)
		}
		return strings.ReplaceAll(probedMOV, old, put)
	}
	tests := []struct {
		name, text string
		err        error
		start      int64
		rate       timecode.Rate
		note       string
	}{
		{"as it was", probedMOV, nil, 172799827, timecode.Rate2997, ""},
		{"timecode at half the picture's rate", change(`"r_frame_rate":"30000/1001"`, `"r_frame_rate":"60000/1001"`), nil, 172799827, timecode.Rate2997, ""},
		{"a rounded rate", change(`30000/1001`, `2997/100`), nil, 172799827, timecode.Rate2997, ""},
		{"23.976", strings.ReplaceAll(change(`30000/1001`, `24000/1001`), ";", ":"), nil, 36036 * 4800, timecode.Rate23976, ""},
		{"no timecode", change(`"timecode":"01:00:00;00"`, `"x":""`), nil, -1, timecode.Rate2997, ""},
		{"drop-frame at 25", change(`30000/1001`, `25/1`), nil, 3600 * 48000, timecode.Rate25, "drop-frame"},
		{"a label that drop-frame skips", change(`01:00:00;00`, `01:01:00;00`), nil, -1, timecode.Rate2997, "left out"},
		{"no such label", change(`01:00:00;00`, `winch`), nil, -1, timecode.Rate2997, "left out"},
		{"a codec that ffmpeg doesn't know", change(`"codec_name":"pcm_s24le",`, ``), ErrMedia, 0, timecode.Rate{}, ""},
		{"100 channels", change(`"channels":1`, `"channels":100`), ErrMedia, 0, timecode.Rate{}, ""},
		{"a cover is no picture", change(`"attached_pic":0`, `"attached_pic":1`), nil, 172799827, timecode.Rate2997, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m, err := describeProbed(t, tt.text)
			if !errors.Is(err, tt.err) {
				t.Fatalf("got %v, want %v", err, tt.err)
			}
			if err != nil {
				return
			}
			p := m.info.Production
			if p == nil || p.StartSamples != tt.start || p.Base.Rate != tt.rate || m.info.Frames != 144000 || p.Tape != "A001" {
				t.Errorf("got %+v, %d frames; want start %d at %v, 144000 frames, tape A001", p, m.info.Frames, tt.start, tt.rate)
			}
			if got := strings.Join(m.info.Notes, "\n"); !strings.Contains(got, tt.note) || (tt.note == "") != (got == "") {
				t.Errorf("got notes %q, want %q", got, tt.note)
			}
		})
	}
}

func TestProbedLists(t *testing.T) {
	for name, want := range map[string]bool{"hls": true, "concat": true, "dash": true, "mov,mp4,m4a,3gp,3g2,mj2": false, "mxf": false} {
		p := &probed{}
		p.Format.Name = name
		if got := p.refers(); got != want {
			t.Errorf("%s: got %v, want %v", name, got, want)
		}
	}
}

func TestFirstLine(t *testing.T) {
	for _, tt := range []struct {
		said []string
		want string
	}{
		{[]string{"[mov,mp4 @ 0x55d0c0] moov atom", " not found\nfile:a.mov: Invalid data\n"}, "moov atom not found"},
		{[]string{"[in#0 @ 0x5] [dec:flac @ 0x6] invalid residual\n"}, "invalid residual"},
		{[]string{"file:a.mov: Invalid data found\n"}, "Invalid data found"},
		{[]string{"\n", "second\nthird"}, "second"},
		{[]string{"[no place] kept"}, "[no place] kept"},
		{[]string{strings.Repeat("x", 3000)}, strings.Repeat("x", 1000)},
		{nil, ""},
	} {
		l := &firstLine{}
		for _, s := range tt.said {
			if n, err := l.Write([]byte(s)); n != len(s) || err != nil {
				t.Fatalf("got %d, %v", n, err)
			}
		}
		if got := l.text("a.mov"); got != tt.want {
			t.Errorf("%q: got %q, want %q", tt.said, got, tt.want)
		}
	}
}

// Whatever ffprobe prints, describe gives something that can be decoded or an
// error.
func FuzzProbed(f *testing.F) {
	f.Add(probedMOV)
	f.Add(strings.ReplaceAll(probedMOV, "144000", "9223372036854775807"))
	f.Add(strings.ReplaceAll(probedMOV, "0.000000", "-9223372036854775807.5"))
	f.Add(strings.ReplaceAll(probedMOV, "1001", "9223372036854775807"))
	f.Fuzz(func(t *testing.T, text string) {
		m, err := describeProbed(t, text)
		if err != nil {
			return
		}
		i := m.info
		if i.Channels < 1 || i.Channels > maxChannels || i.SampleRate < 1 || i.Frames < 0 || len(m.tracks) == 0 {
			t.Errorf("got %+v", i)
		}
		if p := i.Production; p != nil && p.TrackNames != nil && len(p.TrackNames) != i.Channels {
			t.Errorf("got %d names for %d channels", len(p.TrackNames), i.Channels)
		}
		m.decodeArgs("a.mov", i.Frames/2)
	})
}
