package review

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestScenarioAskers(t *testing.T) {
	want := map[string]string{"D1-INT1": "Joss", "D2-INT2": "Joss"}
	quotes := scenario(t)
	if got := Askers(quotes); !maps.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	for i := range quotes {
		quotes[i].Text = bare(quotes[i].Text)
	}
	if got := Askers(quotes); !maps.Equal(got, want) {
		t.Errorf("bare: got %v, want %v", got, want)
	}
	if got := Askers(nil); len(got) != 0 {
		t.Errorf("nothing said: got %v", got)
	}
}

// The first interview is the stiff one: many closed and leading questions and
// much talk of the asker; the second is not (samples/script.txt).
func TestScenarioAsking(t *testing.T) {
	part := map[string]Asking{}
	for _, a := range AskingOf(scenario(t)) {
		part[a.Reel+" "+a.Speaker] = a
		if a.Questions != a.Closed+a.Open+a.Choice+a.Declarative+a.Tag || a.QuestionShare < 0 || a.QuestionShare > 1 || a.TalkShare < 0 || a.TalkShare > 1 {
			t.Errorf("got %+v", a)
		}
	}
	first, second := part["D1-INT1 Joss"], part["D2-INT2 Joss"]
	if first.TalkShare < 0.5 || second.TalkShare > 0.35 {
		t.Errorf("talk share: got %.2f and %.2f, want over half and under a third", first.TalkShare, second.TalkShare)
	}
	if first.Leading <= second.Leading || first.Open*second.Questions >= second.Open*first.Questions {
		t.Errorf("got %+v and %+v, want the first more leading and less open", first, second)
	}
	if ines := part["D2-INT2 Ines"]; ines.Questions != 0 || ines.Asks {
		t.Errorf("got %+v, want no questions of Ines", ines)
	}
}

// Where two people just talk, nobody is the asker: 36 telephone
// conversations between strangers, who were given a topic and no roles.
func TestNobodyAsks(t *testing.T) {
	var quotes []story.Quote
	convs := telephoneActs(t)
	for i, c := range convs {
		quotes = append(quotes, actQuotes(c, fmt.Sprintf("R%02d", i), false)...)
	}
	got := Askers(quotes)
	t.Logf("an asker is named in %d of %d conversations: %v", len(got), len(convs), got)
	if len(got) > 1 {
		t.Errorf("got %d askers, want at most 1", len(got))
	}
}

// hearing reads a meeting as two people: the members of the committee, who
// are marked " AM" in the text, and everybody else. A minister is an AM too,
// but answers: the one with more than a fifth of all words.
func hearing(t *testing.T, name string) []story.Quote {
	t.Helper()
	data, err := os.ReadFile(corpora(t, "meetings-text/val/"+name))
	if err != nil {
		t.Fatal(err)
	}
	var m struct {
		Turns []struct{ Speaker, Content string } `json:"meeting_transcripts"`
	}
	if err := json.Unmarshal(data, &m); err != nil {
		t.Fatal(err)
	}
	words, all := map[string]int{}, 0
	for _, turn := range m.Turns {
		n := len(strings.Fields(turn.Content))
		words[turn.Speaker] += n
		all += n
	}
	var quotes []story.Quote
	at := timecode.Ticks(0)
	for _, turn := range m.Turns {
		who := "witness"
		if strings.HasSuffix(turn.Speaker, " AM") && words[turn.Speaker]*5 < all {
			who = "member"
		}
		for _, s := range strings.SplitAfter(turn.Content, "? ") {
			n := timecode.Ticks(len(strings.Fields(s))) * timecode.Second / 3
			quotes = append(quotes, story.Quote{Reel: name, Speaker: who, Text: s, Language: "en", Span: timecode.Span{In: at, Out: at + n}})
			at += n
		}
	}
	return quotes
}

// In hearings of a committee the members ask and the witnesses answer; the
// text says who is who, which is a check from outside (QMSum, committee
// meetings of the validation set).
func TestHearingAskers(t *testing.T) {
	for _, name := range []string{"education_0.json", "education_10.json", "education_18.json", "education_22.json"} {
		quotes := hearing(t, name)
		for _, strip := range []bool{false, true} {
			for i := range quotes {
				if strip {
					quotes[i].Text = bare(quotes[i].Text)
				}
			}
			for _, a := range AskingOf(quotes) {
				t.Logf("%s, bare %v: %s asks %d in %d sayings, %.2f of all questions, %.2f of the talk", name, strip, a.Speaker, a.Questions, a.Sayings, a.OfAll, a.TalkShare)
			}
			if got := Askers(quotes)[name]; got != "member" {
				t.Errorf("%s, bare %v: got %q asking, want the members", name, strip, got)
			}
		}
	}
}
