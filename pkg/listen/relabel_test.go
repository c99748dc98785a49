package listen

import (
	"reflect"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func tenths(in, out int64) timecode.Span {
	return timecode.Span{In: timecode.FromMillis(100 * in), Out: timecode.FromMillis(100 * out)}
}

func TestRelabel(t *testing.T) {
	voice := func(name string, in, out int64) story.Turn {
		return story.Turn{Speaker: name, Span: tenths(in, out), Source: story.ByVoice, Channel: -1}
	}
	label := func(name string, in, out int64) story.Turn {
		return story.Turn{Speaker: name, Span: tenths(in, out), Source: story.ByTranscript, Channel: -1}
	}
	h := story.Heard{
		Duration: tenths(0, 1000).Out,
		Speech:   []timecode.Span{tenths(10, 50), tenths(60, 100), tenths(120, 200), tenths(300, 340), tenths(400, 430)},
		Turns: []story.Turn{
			voice("Voice 1", 10, 50), voice("Voice 2", 60, 100), voice("Voice 1", 120, 160), voice("Voice 2", 160, 200),
			voice("Voice 1", 300, 340), voice("Voice 3", 400, 430),
		},
	}
	tests := []struct {
		name         string
		labels, want []story.Turn
	}{
		{"no labels", nil, h.Turns},
		{"labels without names", []story.Turn{label("", 0, 1000)}, h.Turns},
		{
			"edges snap to speech, a change of voice, and what is left keeps its voice",
			[]story.Turn{label("Ines", 13, 55), label("Joss", 55, 98), label("Ines", 115, 155), label("Joss", 155, 205)},
			[]story.Turn{
				label("Ines", 10, 50), label("Joss", 60, 100), label("Ines", 120, 160), label("Joss", 160, 200),
				label("Ines", 300, 340), label("Voice 3", 400, 430),
			},
		},
		{
			"a long label holds its pauses apart",
			[]story.Turn{label("Ines", 0, 500)},
			[]story.Turn{label("Ines", 10, 50), label("Ines", 60, 100), label("Ines", 120, 200), label("Ines", 300, 340), label("Ines", 400, 430)},
		},
		{
			"a label with nothing heard stays",
			[]story.Turn{label("Wilf", 220, 250)},
			[]story.Turn{
				label("Voice 1", 10, 50), label("Voice 2", 60, 100), label("Voice 1", 120, 160), label("Voice 2", 160, 200), label("Wilf", 220, 250),
				label("Voice 1", 300, 340), label("Voice 3", 400, 430),
			},
		},
		{
			"overlapping labels both count",
			[]story.Turn{label("Ines", 120, 200), label("Joss", 180, 200)},
			[]story.Turn{
				label("Ines", 10, 50), label("Joss", 60, 100), label("Ines", 120, 200), label("Joss", 180, 200),
				label("Ines", 300, 340), label("Voice 3", 400, 430),
			},
		},
	}
	for _, c := range tests {
		got := Relabel(h, c.labels)
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s:\n got %v\nwant %v", c.name, got, c.want)
		}
	}
	silent := story.Heard{Duration: h.Duration}
	if got := Relabel(silent, []story.Turn{label("Ines", 10, 20)}); len(got) != 1 || got[0] != label("Ines", 10, 20) {
		t.Errorf("nothing heard: got %v", got)
	}
}
