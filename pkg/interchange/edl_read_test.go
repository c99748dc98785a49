package interchange

import (
	"errors"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

func TestReadEDLForms(t *testing.T) {
	const plain = "001  A        V     C        01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:00"
	cases := []struct {
		name, list string
		base       string
		events     int
		note       string // a part of one note, "" for none at all
		fail       string
	}{
		{"only an event", plain, "25", 1, "", ""},
		{"CR alone", "TITLE: x\r" + plain + "\r* LOC: 00:00:00:10 RED x\r", "25", 1, "", ""},
		{"byte order mark", "\ufeffTITLE: x\n" + plain, "25", 1, "", ""},
		{"Windows-1252", "TITLE: caf\xe9\n" + plain, "25", 1, "Windows-1252", ""},
		{"a reel with spaces", "1 D2 INT 2 AA/V C 01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:00", "25", 1, "", ""},
		{"key", "1 A V K B 010 01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:00", "25", 1, "", ""},
		{"source past midnight", "1 A V C 23:59:59:00 00:00:01:00 00:00:00:00 00:00:02:00", "25", 1, "", ""},
		{"record past midnight", "1 A V C 01:00:00:00 01:00:02:00 23:59:59:00 00:00:01:00\n2 A V C 01:00:00:00 01:00:02:00 00:00:01:00 00:00:03:00", "25", 2, "", ""},
		{"lengths differ", "1 A V C 01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:01", "25", 1, "25 frames long, record 26", ""},
		{"source backwards", "1 A V C 01:00:01:00 01:00:00:00 00:00:00:00 00:00:01:00", "25", 1, "source out is before", ""},
		{"no such drop-frame label", "FCM: DROP FRAME\n1 A V C 00:01:00;00 00:01:01;00 00:00:00;00 00:00:00;28", "29.97", 1, "does not exist in drop-frame", ""},
		{"semicolons without FCM", "1 A V C 00:00:00;00 00:00:01;00 00:00:00;00 00:00:01;00", "29.97", 1, "read as drop-frame", ""},
		{"drop at 25", "FCM: DROP FRAME\n" + plain, "25", 1, "does not exist", ""},
		{"strange FCM", "FCM: MAYBE\n" + plain, "25", 1, "not known", ""},
		{"lost half of a blend", "1 A V C 01:00:00:00 01:00:00:00 00:00:00:00 00:00:00:00\n* about it\n" + plain, "25", 1, "no length", ""},
		{"other text", "some remark\n" + plain + "\nEFFECTS NAME IS X", "25", 1, "", ""},
		{"other rate told", "* FRAME RATE: 24\n" + plain, "25", 1, "the list says 24", ""},

		{"nothing", "", "25", 0, "", "no events"},
		{"title alone", "TITLE: x\n", "25", 0, "", "no events"},
		{"wrong rate", "1 A V C 01:00:00:24 01:00:01:00 00:00:00:00 00:00:01:00", "24", 0, "", "x.edl:1"},
		{"three timecodes", "1 A V C 01:00:00:00 01:00:01:00 00:00:00:00", "25", 0, "", "four timecodes"},
		{"no kind", "1 A 01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:00", "25", 0, "", "want"},
		{"strange kind", "1 A V X 01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:00", "25", 0, "", `got "X"`},
		{"binary", "TITLE: x\n\x00\x01", "25", 0, "", "x.edl:2"},
		{"UTF-16", "\xff\xfeT\x00", "25", 0, "", "UTF-16"},
		{"long line", strings.Repeat("a", maxLine+1), "25", 0, "", "longer than"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, notes, err := ReadEDL(strings.NewReader(c.list), "x.edl", base(c.base))
			if c.fail != "" {
				if !errors.Is(err, ErrFormat) || !strings.Contains(err.Error(), c.fail) {
					t.Errorf("got error %v, want ErrFormat with %q", err, c.fail)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Events) != c.events {
				t.Errorf("got %d events, want %d", len(got.Events), c.events)
			}
			all := strings.Join(notes, "\n")
			if (c.note == "") != (all == "") || !strings.Contains(all, c.note) {
				t.Errorf("got notes %q, want %q", all, c.note)
			}
		})
	}
}

func TestReadEDLPlaces(t *testing.T) {
	const list = "1 A V C 23:59:59:00 00:00:01:00 23:59:59:00 00:00:01:00\n" +
		"* LOC: 00:00:00:05 a place\n" +
		"2 A V C 01:00:00:00 01:00:02:00 00:00:01:00 00:00:03:00\n"
	c, _, err := ReadEDL(strings.NewReader(list), "x.edl", base("25"))
	if err != nil {
		t.Fatal(err)
	}
	s := timecode.Second
	day := 24 * timecode.Hour
	if got, want := c.Events[0].Source, (timecode.Span{In: day - s, Out: day + s}); got != want {
		t.Errorf("source: got %v, want %v", got, want)
	}
	if got, want := c.Events[1].Record, (timecode.Span{In: 2 * s, Out: 4 * s}); got != want {
		t.Errorf("record: got %v, want %v", got, want)
	}
	if got, want := c.Events[0].Markers[0].At, s+s/5; got != want {
		t.Errorf("marker: got %v, want %v", got, want)
	}
	if c.Start != day-s {
		t.Errorf("start: got %v, want %v", c.Start, day-s)
	}
}

func TestReadEDLNeedsARate(t *testing.T) {
	const event = "1 A V C 01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:00\n"
	if _, _, err := ReadEDL(strings.NewReader(event), "x.edl", timecode.Base{}); !errors.Is(err, ErrFormat) || !strings.Contains(err.Error(), "frame rate") {
		t.Errorf("got %v", err)
	}
	c, _, err := ReadEDL(strings.NewReader("* FRAME RATE: 29.97 DF\n"+event), "x.edl", timecode.Base{})
	if err != nil || c.Base != base("29.97df") {
		t.Errorf("got %s, %v", c.Base, err)
	}
}
