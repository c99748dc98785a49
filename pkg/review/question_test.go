package review

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// scenario reads the script of the samples: the sayings of each reel, laid
// end to end with the silences the script gives and a quarter second a word.
func scenario(t testing.TB) []story.Quote {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "samples", "script.txt"))
	if err != nil {
		t.Fatal(err)
	}
	var out []story.Quote
	reel, order, at := "", 0, timecode.Ticks(0)
	for line := range strings.Lines(string(data)) {
		f := strings.Fields(line)
		if len(f) == 0 || f[0] == "#" {
			continue
		}
		if name, ok := strings.CutPrefix(f[0], "@"); ok {
			reel, order, at = name, 0, timecode.Second
			continue
		}
		text := strings.Join(f[2:], " ")
		if strings.HasPrefix(text, "*") {
			continue
		}
		length := timecode.Ticks(len(f)-2) * timecode.Second / 4
		out = append(out, story.Quote{
			Code: story.NewCode(reel, at, nil), Reel: reel, Speaker: f[0], Text: text, Language: "en", Order: order,
			Span: timecode.Span{In: at, Out: at + length},
		})
		order++
		at += length + 600*timecode.Millisecond
	}
	if len(out) < 80 {
		t.Fatalf("got %d sayings from the script", len(out))
	}
	return out
}

// What is a question in the script is marked there: Joss's question marks,
// and two statements that ask. Ines's one question is told, not asked.
func TestScenarioQuestions(t *testing.T) {
	quotes := scenario(t)
	got := map[string]Question{}
	for _, q := range Questions(quotes) {
		got[q.Quote.Text] = q
	}
	for _, q := range quotes {
		want := strings.HasSuffix(q.Text, "?") && q.Speaker != "Ines" || q.Text == "So you said no."
		if _, ok := got[q.Text]; ok != want {
			t.Errorf("%s: %q: got question %v, want %v", q.Speaker, q.Text, ok, want)
		}
	}
	kinds := []struct {
		text    string
		kind    Kind
		leading bool
	}{
		{"You must be sad about the bridge, right?", Tag, true},
		{"But it's, um, it's the end of something, isn't it?", Tag, true},
		{"Do you hate it?", Closed, false},
		{"Would you say the bridge is progress, or would you say it's a loss?", Choice, false},
		{"Um, will you walk across the bridge when it opens?", Closed, false},
		{"So where would you start it, the film?", Open, false},
		{"Who rings it?", Open, false},
		{"And you could tell?", Declarative, false},
		{"You go across for nobody?", Declarative, false},
		{"So what do you do?", Open, false},
		{"And when the bridge opens?", Open, false},
		{"Would you keep it, the bell?", Closed, false},
	}
	for _, tt := range kinds {
		q, ok := got[tt.text]
		if !ok || q.Kind != tt.kind || q.Leading != tt.leading {
			t.Errorf("%q: got %s, leading %v, by %s; want %s, leading %v", tt.text, q.Kind, q.Leading, q.Why, tt.kind, tt.leading)
		}
	}
}

func TestIsQuestion(t *testing.T) {
	tests := []struct {
		text, language string
		want           Kind
	}{
		// Bare, as a speech-to-text program writes.
		{"what do you do when nobody rings", "en", Open},
		{"um so do you do you ever stop halfway", "en", Closed},
		{"how long have you worked this crossing", "en", Open},
		{"what she told me is that nobody came", "en", ""},
		{"that's what i do", "en", ""},
		{"so do i", "en", ""},
		{"i said what do you want", "en", ""},
		{"you don't ring it twice do you", "en", Tag},
		{"what a morning", "en", ""},
		{"isn't that funny", "en", ""},
		{"when i was a girl we rang twice", "en", ""},
		{"which is why i go across", "en", ""},
		{"", "en", ""},
		{"?", "en", ""},
		// Marked, but only showing that one listens.
		{"Really?", "en", ""},
		{"Is that right?", "en", ""},
		{"Sorry?", "en-GB", ""},

		{"Wer läutet die Glocke?", "de", Open},
		{"wer läutet denn heute noch die glocke", "de", Open},
		{"Haben Sie die Brücke gesehen?", "de-AT", Closed},
		{"fährst du auch bei nebel", "de", Closed},
		{"Das ist das Ende, oder?", "de", Tag},
		{"Fahren Sie rüber oder bleiben Sie hier?", "de", Choice},
		{"was ich mache ist fahren", "de", ""},
		{"ich weiß nicht wer läutet", "de", ""},
		{"Die Glocke hängt am Pfosten.", "de", ""},

		{"Qu'est-ce que vous faites quand personne ne sonne ?", "fr", Open},
		{"est-ce que vous traversez", "fr", Closed},
		{"pourquoi la cloche", "fr", Open},
		{"avez-vous vu le pont", "fr", Closed},
		{"C'est la fin, n'est-ce pas ?", "fr", Tag},
		{"quand j'étais petite on sonnait deux fois", "fr", ""},
		{"viens, dit-il", "fr", ""},
		{"peut-être demain", "fr", ""},

		{"¿Quién toca la campana?", "es", Open},
		{"dónde empezarías la película", "es", Open},
		{"Cruzas para nadie, ¿verdad?", "es", Tag},
		{"no sé por qué toca", "es", ""},
		{"por qué toca", "es", Open},
		{"cuando era niña tocaba dos veces", "es", ""},
		{"¿Vas a cruzar?", "es", Declarative},

		{"Wie luidt de bel?", "nl", Open},
		{"heb je de brug gezien", "nl", Closed},
		{"Het is het einde, toch?", "nl", Tag},
		{"wat ik doe is varen", "nl", ""},

		{"Chi suona la campana?", "it", Open},
		{"come mai attraversi", "it", Open},
		{"È la fine, vero?", "it", Tag},
		{"quando ero piccola suonavo due volte", "it", ""},

		{"Quem toca o sino?", "pt", Open},
		{"o que é que você faz", "pt-BR", Open},
		{"É o fim, não é?", "pt", Tag},
		{"quando eu era menina tocava duas vezes", "pt", ""},

		// No rules: the question mark alone.
		{"Kto dzwoni?", "pl", Declarative},
		{"kto dzwoni", "pl", ""},
		{"誰が鳴らす？", "ja", Declarative},
	}
	for _, tt := range tests {
		got, score := IsQuestion(tt.text, tt.language)
		if got != tt.want || score < 0 || score > 1 || (score >= AsksFrom) != (got != "") {
			t.Errorf("%s %q: got %q, %.2f; want %q", tt.language, tt.text, got, score, tt.want)
		}
	}
}

func FuzzIsQuestion(f *testing.F) {
	for _, s := range []string{"do you", "or or or?", "you you are", "what's what's", "¿\xff?", "¿qué", "est-ce que", "a-'-b", "wh- what"} {
		f.Add(s, "en")
		f.Add(s, "fr")
	}
	f.Fuzz(func(t *testing.T, text, language string) {
		kind, score := IsQuestion(text, language)
		if score < 0 || score > 1 || (score >= AsksFrom) != (kind != "") {
			t.Fatalf("%q in %q: got %q, %v", text, language, kind, score)
		}
	})
}
