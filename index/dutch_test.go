package index

import (
	"context"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// TestDutchVerbs: forms as grammars give them (recalled) lead to each other.
func TestDutchVerbs(t *testing.T) {
	for verb, list := range map[string]string{
		"maken": "maak maakt maakte maakten gemaakt makend", "werken": "werk werkt werkte gewerkt", "leven": "leef leeft leefde leefden geleefd",
		"reizen": "reis reist reisde gereisd", "luiden": "luid luidt luidde luidden", "wachten": "wacht wachtte wachtten gewacht",
		"bakken": "bak bakt bakte", "wandelen": "wandel wandelt wandelde gewandeld", "horen": "hoor hoort hoorde gehoord", "antwoorden": "antwoordt antwoordde geantwoord",
		"opbellen": "opbelt opgebeld optebellen", "afmaken": "afgemaakt afmaakt", "varen": "vaar vaart voer voeren gevaren", "lopen": "loopt liep liepen gelopen",
		"overvaren": "overgevaren overvoer", "gaan": "ging gegaan gaat", "zien": "zag gezien ziet", "brengen": "bracht gebracht", "terugkomen": "teruggekomen terugkwam",
	} {
		forms := dutchVerbForms(verb)
		for form := range strings.FieldsSeq(list) {
			if !slices.Contains(forms, form) {
				t.Errorf("%s: %s isn't among its forms", verb, form)
			}
			if !slices.Contains(dutchVerbForms(form), verb) {
				t.Errorf("%s: %s isn't among what it may be", form, verb)
			}
			if !slices.Contains(Bases("nl-BE", form), verb) {
				t.Errorf("%s: got %v, want %s among them", form, Bases("nl", form), verb)
			}
		}
	}
	for _, noun := range []string{"was", "boot", "rook", "", "e", "ge", "en", "gen", "de"} {
		if got := Bases("nl", noun); len(got) > 0 {
			t.Errorf("%s: got %v, want nothing", noun, got)
		}
	}
}

func TestFindDutchVerbs(t *testing.T) {
	i := built(t, []story.Quote{
		{Code: "A", Reel: "D1", Order: 0, Language: "nl", Text: "Wie over wil, die luidt de bel."},
		{Code: "B", Reel: "D1", Order: 1, Language: "nl", Text: "Ze luidden elke avond."},
		{Code: "C", Reel: "D1", Order: 2, Language: "nl", Text: "Wij voeren bij elk weer, en ik vaar nog."},
		{Code: "D", Reel: "D1", Order: 3, Language: "nl", Text: "De boot is klaar."},
	})
	for query, want := range map[string]string{"luiden": "AB", "luidde": "AB", "varen": "C", "gevaren": "C", "boten": "D", "bieden": ""} {
		res, err := i.Search(context.Background(), Query{Text: query})
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, h := range res.Hits {
			got += string(h.Code)
		}
		if b := []byte(got); !slices.IsSorted(b) {
			slices.Sort(b)
			got = string(b)
		}
		if got != want {
			t.Errorf("%s: got %s, want %s", query, got, want)
		}
	}
}
