package timedtext

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

func TestReadTTML(t *testing.T) {
	doc := func(attrs, body string) string {
		return `<?xml version="1.0" encoding="UTF-8"?><tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter" xmlns:tts="http://www.w3.org/ns/ttml#styling" xmlns:ttm="http://www.w3.org/ns/ttml#metadata" xml:lang="en" ` + attrs + `><head><metadata><ttm:agent xml:id="a1" type="person"><ttm:name type="full">Ines Corrigan</ttm:name></ttm:agent></metadata></head><body>` + body + `</body></tt>`
	}
	p := func(timing string) string { return `<div><p ` + timing + `>Bell.</p></div>` }
	const ntsc = `ttp:frameRate="30" ttp:frameRateMultiplier="1000 1001"`
	runReads(t, []readCase{
		{"clock", doc("", p(`begin="00:00:01.5" end="00:00:02.25"`)), "1.50-2.25 Bell.", TTML, 0},
		{"frames", doc(`ttp:frameRate="25"`, p(`begin="00:00:01:12" end="00:00:02:00"`)), "1.48-2 Bell.", TTML, 0},
		{"frames by the caller's rate", doc("", p(`begin="00:00:01:12" end="00:00:02:00"`)), "1.48-2 Bell.", TTML, 0},
		{"multiplier, offset frames", doc(ntsc, p(`begin="30f" end="60f"`)), "1.001-2.002 Bell.", TTML, 0},
		{"multiplier, media clock", doc(ntsc, p(`begin="00:00:01:20" end="00:00:02"`)), fmt.Sprintf("%.3f-2 Bell.", 1+20*1001.0/30000), TTML, 0},
		{"SMPTE, hour of 29.97 NDF", doc(ntsc+` ttp:timeBase="smpte" ttp:dropMode="nonDrop"`, p(`begin="01:00:00:00" dur="1s"`)), "3603.60-3604.60 Bell.", TTML, 0},
		{"SMPTE, hour of 29.97 DF", doc(ntsc+` ttp:timeBase="smpte" ttp:dropMode="dropNTSC"`, p(`begin="01:00:00:00" dur="1s"`)), fmt.Sprintf("%.3f-%.3f Bell.", 107892*1001.0/30000, 1+107892*1001.0/30000), TTML, 0},
		{"ticks", doc(`ttp:tickRate="10000000"`, p(`begin="15000000t" end="22500000t"`)), "1.50-2.25 Bell.", TTML, 0},
		{"offsets", doc("", p(`begin="1500ms" end="0.5m"`)), "1.50-30 Bell.", TTML, 0},
		{"nesting", doc("", `<div begin="10s"><p begin="1s" dur="2s">Bell.</p><p begin="3s">Ring.</p></div>`), "11-13 Bell.\n13-end… Ring.", TTML, 0},
		{"end of the parent", doc("", `<div begin="10s" end="12s"><p begin="1s" end="9s">Bell.</p></div>`), "11-12 Bell.", TTML, 0},
		{"seq", doc("", `<div timeContainer="seq"><p dur="2s">Bell.</p><p dur="1s">Ring.</p></div>`), "0-2 Bell.\n2-3 Ring.", TTML, 0},
		{"times on spans", doc("", `<div><p begin="1s" end="5s"><span end="2s">Bell</span> <span begin="2s">rang.</span></p></div>`), "1-3 Bell\n3-5 rang.", TTML, 0},
		{"breaks and white space", doc("", "<div><p begin='1s' end='2s'>\n  It\n  was<br/>  the bell.\n</p></div>"), "1-2 It was / the bell.", TTML, 0},
		{"white space kept", doc("", `<div><p begin='1s' end='2s' xml:space="preserve">It  was</p></div>`), "1-2 It  was", TTML, 0},
		{"agent", doc("", `<div><p begin='1s' end='2s' ttm:agent="a1">Bell.</p></div>`), "1-2 [Ines Corrigan] Bell.", TTML, 0},
		{"no namespace", `<tt><body><div><p begin="1s" end="2s">Bell.</p></div></body></tt>`, "1-2 Bell.", TTML, 0},
		{"prefix", `<tt:tt xmlns:tt="http://www.w3.org/ns/ttml"><tt:body><tt:div><tt:p begin="1s" end="2s">Bell.</tt:p></tt:div></tt:body></tt:tt>`, "1-2 Bell.", TTML, 0},
	})
	t.Run("style", func(t *testing.T) {
		in := `<tt xmlns="http://www.w3.org/ns/ttml" xmlns:tts="http://www.w3.org/ns/ttml#styling"><head><styling><style xml:id="a" tts:color="yellow"/><style xml:id="b" style="a" tts:fontStyle="italic"/></styling></head><body><div style="b"><p begin="1s" end="2s"><span tts:fontStyle="normal" tts:fontWeight="bold">Be</span>ll</p></div></body></tt>`
		d, err := Read(strings.NewReader(in), ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		want := Line{{Text: "Be", Style: Style{Bold: true, Colour: "yellow"}}, {Text: "ll", Style: Style{Italic: true, Colour: "yellow"}}}
		if got := fmt.Sprint(d.Cues[0].Lines[0]); got != fmt.Sprint(want) {
			t.Errorf("got %v, want %v", got, want)
		}
	})
}

// xml:id 1.0 (recalled): an identifier occurs once in a document, whichever
// element has it.
func TestTTMLIdentifiersDiffer(t *testing.T) {
	d := farBank()
	for i, id := range []string{"one", "one-2", "one", "low", "one", "last"} {
		d.Cues[i].ID = id
	}
	d.Cues[0].Settings = map[string]string{"region": "low"}
	var b strings.Builder
	lost, err := Write(&b, d, TTML, WriteOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var cues []string
	count := map[string]int{}
	shapes(t, []byte(b.String()), func(name string, attrs map[string]string) {
		id := attrs["xml:id"]
		if count[id]++; id != "" && count[id] > 1 {
			t.Errorf("identifier %q used %d times", id, count[id])
		}
		if name == "p" {
			cues = append(cues, id)
		}
	})
	if got, want := strings.Join(cues, " "), "one one-2 one-3 low-2 one-4 last"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if got, want := strings.Join(lost, ", "), "cue identifiers that occur twice: numbered (3)"; got != want {
		t.Errorf("lost: got %s, want %s", got, want)
	}
}

// Times that aren't understood cost no words, nor do frames that the rate
// doesn't have, as long as some time is.
func TestTTMLSlips(t *testing.T) {
	read := func(second string, as string) (*Document, error) {
		return Read(strings.NewReader(`<tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter" ttp:frameRate="25"><body><div>
<p begin="1s" end="`+as+`">The bell rang.</p>
<p `+second+`>Nobody crossed.</p>
<p begin="7s" end="9s">The rope held.</p>
<p begin="10s" end="12s">We went home.</p></div></body></tt>`), ReadOptions{Name: "ferry.ttml"})
	}
	const s = timecode.Second
	for _, c := range []struct {
		second string
		in     timecode.Ticks
		out    timecode.Ticks // NoTime: open
	}{
		{`begin="4s" end="6s"`, 4 * s, 6 * s},
		{`begin="00:00:O4.0" end="6s"`, 3 * s, 6 * s},
		{`begin="4s" end="00:00:6O"`, 4 * s, NoTime},
		{`begin="4s" dur="two seconds"`, 4 * s, NoTime},
		{`begin="?" end="?"`, 3 * s, NoTime},
		{`begin="00:00:04,5" end="0:06"`, 4*s + s/2, 6 * s},
		{`begin="00:00:04:24" end="6s"`, 4*s + 24*s/25, 6 * s},
		{`begin="00:00:04:26" end="6s"`, 4*s + 24*s/25, 6 * s},
	} {
		d, err := read(c.second, "3s")
		if err != nil {
			t.Errorf("%s: %v", c.second, err)
			continue
		}
		if len(d.Cues) != 4 {
			t.Errorf("%s: %d cues, want 4", c.second, len(d.Cues))
			continue
		}
		got := d.Cues[1]
		if got.Plain() != "Nobody crossed." || got.In != c.in || got.OpenEnd != (c.out == NoTime) || !got.OpenEnd && got.Out != c.out {
			t.Errorf("%s: %q %v open %v, want %d to %d", c.second, got.Plain(), got.Span, got.OpenEnd, c.in, c.out)
		}
		if want := strings.Count(c.second, "?") + strings.Count(c.second, "O") + strings.Count(c.second, "two") + strings.Count(c.second, ",") + strings.Count(c.second, ":26"); len(d.Repairs) != want || want > 0 && d.Repairs[0].Line != 3 {
			t.Errorf("%s: repairs %v, want %d, on line 3", c.second, d.Repairs, want)
		}
	}
	if d, err := read(`begin="?" end="?"`, "never"); err != nil || len(d.Cues) != 4 {
		t.Errorf("most times wrong: got %v, %v, want four cues", d, err)
	}
	var parse *ParseError
	_, err := Read(strings.NewReader(`<tt xmlns="http://www.w3.org/ns/ttml"><body><div><p begin="?" end="?">The bell rang.</p></div></body></tt>`), ReadOptions{Name: "ferry.ttml"})
	if !errors.As(err, &parse) || parse.Hint == "" || parse.Line == 0 {
		t.Errorf("no time at all: got %v, want an error with a line and a way out", err)
	}
}

// A time of anything but a paragraph that isn't understood is as if it weren't
// there.
func TestTTMLSlipsAround(t *testing.T) {
	for _, file := range []string{
		`<body begin="?"><div><p begin="4s" end="6s">The bell rang.</p></div></body>`,
		`<body><div end="noon"><p begin="4s" end="6s">The bell rang.</p></div></body>`,
		`<body><div><p begin="4s" end="6s"><span dur="a while">The bell rang.</span></p></div></body>`,
	} {
		d, err := Read(strings.NewReader(`<tt xmlns="http://www.w3.org/ns/ttml">`+file+`</tt>`), ReadOptions{})
		if err != nil || told(d) != "4-6 The bell rang." || len(d.Repairs) != 1 {
			t.Errorf("%s: got %v, %v", file, d, err)
		}
	}
}
