package review

import (
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Words of other scripts: vowel signs don't part a word, and where no spaces
// are written a sentence is more than a word.
func TestWordsOfScripts(t *testing.T) {
	for _, c := range []struct {
		text  string
		words []string
		count int
	}{
		{"नमस्ते दुनिया।", []string{"नमस्ते", "दुनिया"}, 2},
		{"வணக்கம் உலகம்", []string{"வணக்கம்", "உலகம்"}, 2},
		{"मोटर-गाड़ी wh- it's", []string{"मोटर-गाड़ी", "wh", "it's"}, 3},
		{"彼らは鐘を鳴らす", []string{"彼らは鐘を鳴らす"}, 4},
		{"誰も来ない、bell", []string{"誰も来ない", "bell"}, 4},
		{"", nil, 0},
	} {
		var got []string
		for _, w := range cut(c.text).words {
			got = append(got, w.text)
		}
		if n := cut(c.text).count(); !slices.Equal(got, c.words) || n != c.count {
			t.Errorf("%s: got %q, %d words, want %q, %d", c.text, got, n, c.words, c.count)
		}
	}
}

// A whole sentence stands by itself in any script.
func TestCompleteInScripts(t *testing.T) {
	for language, text := range map[string]string{
		"ja": "彼らは誰のためでもなく鐘を鳴らす。",
		"hi": "वे किसी के लिए घंटी नहीं बजाते।",
		"ar": "هل يدق الجرس لأحد الآن؟",
		"en": "Somebody rings and I go.",
	} {
		q := story.Quote{Reel: "R", Text: text, Language: language, Span: timecode.Span{Out: 8 * timecode.Second}}
		before := story.Quote{Reel: "R", Text: "Is it?"}
		if p := Quotability(q, Context{Before: []story.Quote{before}}).Part(PartComplete); p.Value != 1 {
			t.Errorf("%s: got %.2f, %s, want 1", language, p.Value, p.Why)
		}
	}
}

// A transcript without full stops can be one saying of an hour: its words are
// joined at once, not copied again for each.
func TestJoinedCopiesOnce(t *testing.T) {
	ws := cut(strings.Repeat("the bell rings ", 3000)).words
	if n := testing.AllocsPerRun(1, func() { joined(ws) }); n > 100 {
		t.Errorf("%.0f copies for %d words", n, len(ws))
	}
}
