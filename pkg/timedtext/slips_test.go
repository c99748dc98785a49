package timedtext

import (
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

// Words whose times nobody understands share the time between their neighbours
// by length; a right in stays where the out is wrong. Our own choice.
func TestSlipsShareTheTime(t *testing.T) {
	const head = "[Events]\nFormat: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n"
	line := func(in, out, text string) string {
		return "Dialogue: 0," + in + "," + out + ",Default,,0,0,0,," + text + "\n"
	}
	cue := func(in, out, text string) string { return "1\n" + in + " --> " + out + "\n" + text + "\n\n" }
	for _, c := range []struct{ name, file, want string }{
		{"ASS", head + line("0:00:01.00", "0:00:02.00", "One.") + line("0:00:71.00", "0:00:72.00", "Two.") + line("0:00:05.00", "0:00:06.00", "Three."), "1-2 One.\n2-5… Two.\n5-6 Three."},
		{"ASS out", head + line("0:00:01.00", "0:00:02.00", "One.") + line("0:00:04.00", "0:00:72.00", "Two.") + line("0:00:05.00", "0:00:06.00", "Three."), "1-2 One.\n4-5… Two.\n5-6 Three."},
		{"ASS short line", head + line("0:00:01.00", "0:00:02.00", "One.") + "Dialogue: Two.\n", "1-2 One."},
		{
			"SRT", cue("00:00:01,000", "00:00:02,000", "One.") + cue("00:75:00,000", "00:75:02,000", "Two.") + cue("00:76:00,000", "00:76:02,000", "Three, which is longest.") + cue("00:00:08,000", "00:00:09,000", "Four."),
			"1-2 One.\n2-3… Two.\n3-8… Three, which is longest.\n8-9 Four.",
		},
		{"SRT out", cue("00:00:01,000", "00:00:02,000", "One.") + cue("00:00:04,000", "00:75:02,000", "Two.") + cue("00:00:05,000", "00:00:06,000", "Three."), "1-2 One.\n4-5… Two.\n5-6 Three."},
	} {
		d, err := Read(strings.NewReader(c.file), ReadOptions{})
		if err != nil || told(d) != c.want {
			t.Errorf("%s: got %v, %v, want %s", c.name, d, err, c.want)
		} else if len(d.Repairs) == 0 {
			t.Errorf("%s: nothing reported", c.name)
		}
	}
	if _, err := Read(strings.NewReader(head+line("0:00:71.00", "0:00:72.00", "One.")), ReadOptions{}); err == nil || !strings.Contains(err.Error(), "71") {
		t.Errorf("no time at all: got %v, want an error", err)
	}
}

// Timecode labels go on past midnight, in a cue and from cue to cue; at 29.97
// frames without drop a day of labels is 2,592,000 frames, 24:01:26.4 of clock
// (SMPTE ST 12-1).
func TestLabelsPastMidnight(t *testing.T) {
	base := timecode.Base{Rate: timecode.Rate2997}
	frames := func(t timecode.Ticks) int64 { return base.Rate.Frame(t, timecode.Nearest) }
	const day = 2_592_000
	for name, file := range map[string]string{
		"text": "[23:59:50:00 - 23:59:52:00] INES: It rang.\n[23:59:58:00 - 00:00:05:00] INES: Still.\n[00:00:06:00 - 00:00:08:00] INES: And on.\n",
		"csv":  "in,out,speaker,text\n23:59:50:00,23:59:52:00,Ines,It rang.\n23:59:58:00,00:00:05:00,Ines,Still.\n00:00:06:00,00:00:08:00,Ines,And on.\n",
		"ttml": `<tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter" ttp:timeBase="smpte" ttp:frameRate="30" ttp:frameRateMultiplier="1000 1001" ttp:dropMode="nonDrop"><body><div>` +
			`<p begin="23:59:50:00" end="23:59:52:00">It rang.</p><p begin="23:59:58:00" end="00:00:05:00">Still.</p><p begin="00:00:06:00" end="00:00:08:00">And on.</p></div></body></tt>`,
	} {
		d, err := Read(strings.NewReader(file), ReadOptions{Base: base})
		if err != nil || len(d.Cues) != 3 {
			t.Errorf("%s: got %v, %v", name, d, err)
			continue
		}
		for i, want := range [3][2]int64{{day - 300, day - 240}, {day - 60, day + 150}, {day + 180, day + 240}} {
			if c := d.Cues[i]; c.OpenEnd || frames(c.In) != want[0] || frames(c.Out) != want[1] {
				t.Errorf("%s, cue %d: frames %d to %d (open %v), want %d to %d", name, i, frames(c.In), frames(c.Out), c.OpenEnd, want[0], want[1])
			}
		}
		if len(d.Repairs) != 0 {
			t.Errorf("%s: repairs %v", name, d.Repairs)
		}
	}
}
