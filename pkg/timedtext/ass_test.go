package timedtext

import (
	"strings"
	"testing"
)

func TestReadASS(t *testing.T) {
	const head = "[Script Info]\nTitle: The Far Bank\nScriptType: v4.00+\n\n[V4+ Styles]\nFormat: Name, PrimaryColour, Bold, Italic\nStyle: Thought,&H0000FFFF,0,-1\n\n[Events]\nFormat: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n"
	runReads(t, []readCase{
		{"name and commas", head + "Dialogue: 0,0:00:01.50,0:00:02.25,Default,Ines,0,0,0,,Bell, it\\Nwas {\\i1}me{\\i0}.", "1.50-2.25 [Ines] Bell, it / [Ines] was  [Ines] me [Ines] .", ASS, 0},
		// Each is a defect of go-astisub v0.34.0.
		{"comma in a name", head + "Dialogue: 0,0:00:01.50,0:00:02.25,Default,Corrigan, Ines,0,0,0,,Bell, it was.", "1.50-2.25 [Corrigan, Ines] Bell, it was.", ASS, 0},
		{"drawing is not text", head + "Dialogue: 0,0:00:01.50,0:00:02.25,Default,,0,0,0,,{\\p1}m 0 0 l 1 1{\\p0}Bell.", "1.50-2.25 Bell.", ASS, 0},
		{"no script info", "Dialogue: 0,0:00:01.50,0:00:02.25,Default,,0,0,0,,Bell.", "1.50-2.25 Bell.", ASS, 0},
		{"SSA version 4", "[Script Info]\nScriptType: v4.00\n\n[Events]\nFormat: Marked, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\nDialogue: Marked=0,0:00:01.50,0:00:02.25,*Default,Ines,0000,0000,0000,,Bell.", "1.50-2.25 [Ines] Bell.", ASS, 0},
	})
	t.Run("style", func(t *testing.T) {
		d, err := Read(strings.NewReader(head+"Dialogue: 0,0:00:01.50,0:00:02.25,Thought,,0,0,0,,Bell."), ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if got, want := d.Cues[0].Lines[0][0].Style, (Style{Italic: true, Colour: "#ffff00"}); got != want {
			t.Errorf("got %+v, want %+v", got, want)
		}
		if d.Title != "The Far Bank" {
			t.Errorf("got title %q", d.Title)
		}
	})
}
