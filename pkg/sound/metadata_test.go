package sound

import (
	"reflect"
	"strings"
	"testing"
	"unicode/utf16"

	"rushlight/pkg/timecode"
)

// soundWith is a file of 1000 frames, 2 channels, with chunks before and after
// the data.
func soundWith(before, after func(*wave)) []byte {
	w := newWave("RIFF")
	if before != nil {
		before(w)
	}
	w.chunk("fmt ", fmtChunk(1, 2, 48000, 16)).chunk("data", make([]byte, 4000))
	if after != nil {
		after(w)
	}
	return w.finish()
}

func infoOf(t *testing.T, file []byte) Info {
	t.Helper()
	r, err := open(file)
	if err != nil {
		t.Fatal(err)
	}
	return r.Info()
}

// The offsets are those of EBU Tech 3285 v2, table 1, written out here by
// number and not through the constants of the reader.
func bextBytes(version int, loudness int16) []byte {
	b := make([]byte, 602)
	copy(b[0:], "Ines on the ferry\x00garbage")
	copy(b[256:], "Recorder 2")
	copy(b[288:], "GB0000000000000000000000000000001")
	copy(b[320:], "2031:09:14")
	copy(b[330:], "10-00-12")
	le.PutUint32(b[338:], 1728576000)
	le.PutUint32(b[342:], 1)
	le.PutUint16(b[346:], uint16(version))
	le.PutUint16(b[412:], uint16(loudness))
	return append(b, "A=PCM,F=48000,W=24,M=mono\r\n"...)
}

func TestBroadcast(t *testing.T) {
	base := Broadcast{
		Description: "Ines on the ferry", Originator: "Recorder 2", OriginatorReference: "GB000000000000000000000000000000",
		Date: "2031-09-14", Time: "10:00:12", TimeReference: 1<<32 + 1728576000, Version: 2, LoudnessLUFS: -23.1, CodingHistory: "A=PCM,F=48000,W=24,M=mono",
	}
	tests := []struct {
		name  string
		chunk []byte
		want  func(b Broadcast) Broadcast
		notes int
	}{
		{"version 2", bextBytes(2, -2310), func(b Broadcast) Broadcast { return b }, 0},
		{"version 1 has no loudness", bextBytes(1, -2310), func(b Broadcast) Broadcast { b.Version, b.LoudnessLUFS = 1, 0; return b }, 0},
		{"loudness not set", bextBytes(2, 0x7FFF), func(b Broadcast) Broadcast { b.LoudnessLUFS = 0; return b }, 0},
		{"cut short", bextBytes(2, -2310)[:350], func(b Broadcast) Broadcast { b.LoudnessLUFS, b.CodingHistory = 0, ""; return b }, 1},
		{"empty", make([]byte, 602), func(Broadcast) Broadcast { return Broadcast{} }, 0},
		{"Latin-1", func() []byte { b := bextBytes(2, -2310); copy(b, "Fähre\x00"); copy(b, "F\xE4hre\x00"); return b }(), func(b Broadcast) Broadcast { b.Description = "Fähre"; return b }, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			info := infoOf(t, soundWith(nil, func(w *wave) { w.chunk("bext", tt.chunk) }))
			if want := tt.want(base); info.Broadcast == nil || *info.Broadcast != want {
				t.Errorf("got  %+v\nwant %+v", info.Broadcast, want)
			}
			if len(info.Notes) != tt.notes {
				t.Errorf("got notes %q, want %d", info.Notes, tt.notes)
			}
		})
	}
}

// In the form of the iXML specification's own example (recalled).
const ixml = `<?xml version="1.0" encoding="UTF-8"?>
<BWFXML>
 <IXML_VERSION>1.61</IXML_VERSION>
 <PROJECT>The Far Bank</PROJECT><SCENE>D2</SCENE><TAKE>3</TAKE><TAPE>D2-INT2</TAPE>
 <NOTE>wind &amp; winch</NOTE><FILE_UID>D2INT2000000001</FILE_UID>
 <SPEED>
  <TIMECODE_RATE>30000/1001</TIMECODE_RATE><TIMECODE_FLAG>DF</TIMECODE_FLAG>
  <TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>1</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>
  <TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO>1728576000</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO>
 </SPEED>
 <TRACK_LIST><TRACK_COUNT>2</TRACK_COUNT>
  <TRACK><CHANNEL_INDEX>3</CHANNEL_INDEX><INTERLEAVE_INDEX>2</INTERLEAVE_INDEX><NAME>Ines lav</NAME></TRACK>
  <TRACK><CHANNEL_INDEX>1</CHANNEL_INDEX><INTERLEAVE_INDEX>1</INTERLEAVE_INDEX><NAME>Boom</NAME></TRACK>
 </TRACK_LIST>
</BWFXML>`

func TestProduction(t *testing.T) {
	base := Production{
		Project: "The Far Bank", Scene: "D2", Take: "3", Tape: "D2-INT2", Note: "wind & winch", UID: "D2INT2000000001",
		Base: timecode.Base{Rate: timecode.Rate2997, Drop: true}, StartSamples: 1<<32 + 1728576000, TrackNames: []string{"Boom", "Ines lav"},
	}
	sub := func(pairs ...string) string { return strings.NewReplacer(pairs...).Replace(ixml) }
	utf16le := func(s string) string {
		b := []byte{0xFF, 0xFE}
		for _, u := range utf16.Encode([]rune(s)) {
			b = le.AppendUint16(b, u)
		}
		return string(b)
	}
	tests := []struct {
		name, xml string
		want      func(Production) Production
		note      string
	}{
		{"as it should be", ixml, func(p Production) Production { return p }, ""},
		{"NULs at the end", ixml + strings.Repeat("\x00", 999), func(p Production) Production { return p }, ""},
		{"byte order mark", "\uFEFF" + ixml, func(p Production) Production { return p }, ""},
		{"UTF-16", utf16le(sub("UTF-8", "UTF-16")), func(p Production) Production { return p }, ""},
		{"Latin-1", sub("UTF-8", "ISO-8859-1", "wind &amp; winch", "F\xE4hre"), func(p Production) Production { p.Note = "Fähre"; return p }, ""},
		{"25 frames, no drop", sub("30000/1001", "25/1", ">DF<", ">NDF<"), func(p Production) Production { p.Base = timecode.Base{Rate: timecode.Rate25}; return p }, ""},
		{"24000/1001", sub("30000/1001", "24000/1001", ">DF<", ">NDF<"), func(p Production) Production { p.Base = timecode.Base{Rate: timecode.Rate23976}; return p }, ""},
		{"drop-frame at 25", sub("30000/1001", "25/1"), func(p Production) Production { p.Base = timecode.Base{Rate: timecode.Rate25}; return p }, "drop-frame at 25"},
		{"rate that is none", sub("30000/1001", "fast"), func(p Production) Production { p.Base = timecode.Base{}; return p }, `"fast" not understood`},
		{"no time stamp", sub("SINCE_MIDNIGHT_LO", "SINCE_NOON_LO"), func(p Production) Production { p.StartSamples = -1; return p }, ""},
		{"time stamp at another rate", sub("<TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>1<", "<TIMESTAMP_SAMPLE_RATE>96000</TIMESTAMP_SAMPLE_RATE><TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>0<"), func(p Production) Production { p.StartSamples = 1728576000 / 2; return p }, "counts at 96000 Hz"},
		{"time stamp at the file's rate", sub("<SPEED>", "<SPEED><TIMESTAMP_SAMPLE_RATE>48000</TIMESTAMP_SAMPLE_RATE>"), func(p Production) Production { return p }, ""},
		{"bad time stamp", sub("1728576000", "-7"), func(p Production) Production { p.StartSamples = -1; return p }, `"-7" not understood`},
		{"no interleave index", sub("<INTERLEAVE_INDEX>2</INTERLEAVE_INDEX>", "", "<INTERLEAVE_INDEX>1</INTERLEAVE_INDEX>", "", "INDEX>3<", "INDEX>2<"), func(p Production) Production { return p }, ""},
		{"two inputs of many armed", sub("<INTERLEAVE_INDEX>2</INTERLEAVE_INDEX>", "", "<INTERLEAVE_INDEX>1</INTERLEAVE_INDEX>", "", "INDEX>3<", "INDEX>7<", "INDEX>1<", "INDEX>5<"), func(p Production) Production { p.TrackNames = []string{"Ines lav", "Boom"}; return p }, ""},
		{"time stamp of no day", sub("_HI>1<", "_HI>2147483647<", "1728576000", "4611686018427387904"), func(p Production) Production { p.StartSamples = -1; return p }, "not understood"},
		{"one name only", sub("<NAME>Boom</NAME>", ""), func(p Production) Production { p.TrackNames = []string{"", "Ines lav"}; return p }, ""},
		{"function for a name", sub("<NAME>Boom</NAME>", "<FUNCTION>MIXL</FUNCTION>"), func(p Production) Production { p.TrackNames = []string{"MIXL", "Ines lav"}; return p }, ""},
		{"two tracks for a channel", sub("INTERLEAVE_INDEX>1<", "INTERLEAVE_INDEX>2<"), func(p Production) Production { p.TrackNames = []string{"", "Ines lav"}; return p }, `"Boom" left out`},
		{"cut off", ixml[:strings.Index(ixml, "<SPEED>")+20], func(p Production) Production {
			p.Base, p.StartSamples, p.TrackNames = timecode.Base{}, -1, nil
			return p
		}, "damaged"},
		{"no XML", "hello", func(Production) Production { return Production{StartSamples: -1} }, "nothing in it"},
		{"nested deeply", strings.Repeat("<A>", 5000), func(Production) Production { return Production{StartSamples: -1} }, "too deeply"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			info := infoOf(t, soundWith(func(w *wave) { w.chunk("iXML", []byte(tt.xml)) }, nil))
			if info.Production == nil {
				t.Fatal("got nothing")
			}
			if got, want := *info.Production, tt.want(base); !reflect.DeepEqual(got, want) {
				t.Errorf("got  %+v\nwant %+v", got, want)
			}
			if all := strings.Join(info.Notes, "\n"); !strings.Contains(all, tt.note) || (tt.note == "") != (all == "") {
				t.Errorf("got notes %q, want %q", all, tt.note)
			}
		})
	}
}

func cuePoint(id, frame uint32) []byte {
	b := le.AppendUint32(nil, id)
	b = le.AppendUint32(b, frame)
	b = append(b, "data"...)
	return le.AppendUint32(append(b, make([]byte, 8)...), frame)
}

func cueChunk(count uint32, points ...[]byte) []byte {
	b := le.AppendUint32(nil, count)
	for _, p := range points {
		b = append(b, p...)
	}
	return b
}

func adtl(parts ...[]byte) []byte {
	b := []byte("adtl")
	for _, p := range parts {
		b = append(b, p...)
	}
	return b
}

func label(kind string, id uint32, text string) []byte {
	body := le.AppendUint32(nil, id)
	if kind == "ltxt" {
		body = append(body, make([]byte, 16)...)
	}
	return appendChunk(nil, kind, append(append(body, text...), 0))
}

func TestMarkers(t *testing.T) {
	tests := []struct {
		name      string
		cue, list []byte
		want      []Marker
		notes     int
	}{
		{
			"labels of three kinds, out of order", cueChunk(4, cuePoint(9, 700), cuePoint(1, 0), cuePoint(2, 480), cuePoint(3, 490)),
			adtl(label("labl", 1, "slate"), label("note", 2, "bell"), label("ltxt", 9, "bridge"), label("labl", 2, "wild")),
			[]Marker{{0, "slate"}, {480, "wild; bell"}, {490, ""}, {700, "bridge"}},
			0,
		},
		{"without a list", cueChunk(1, cuePoint(1, 5)), nil, []Marker{{5, ""}}, 0},
		{"claiming a billion", cueChunk(1e9, cuePoint(1, 5)), nil, []Marker{{5, ""}}, 1},
		{"beyond the end", cueChunk(2, cuePoint(1, 5), cuePoint(2, 5000)), nil, []Marker{{5, ""}}, 1},
		{"label claiming more", cueChunk(1, cuePoint(1, 5)), adtl([]byte("labl\xFF\xFF\xFF\x7F\x01\x00\x00\x00bell")), []Marker{{5, "bell"}}, 1},
		{"too short", []byte{1}, nil, nil, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, order := range []string{"list first", "list last"} {
				info := infoOf(t, soundWith(func(w *wave) {
					if order == "list first" {
						w.chunk("LIST", tt.list)
					}
					w.chunk("cue ", tt.cue)
				}, func(w *wave) {
					if order == "list last" {
						w.chunk("LIST", tt.list)
					}
				}))
				if !reflect.DeepEqual(info.Markers, tt.want) || len(info.Notes) != tt.notes {
					t.Errorf("%s: got %+v, notes %q; want %+v, %d notes", order, info.Markers, info.Notes, tt.want, tt.notes)
				}
			}
		})
	}
}
