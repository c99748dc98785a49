package index

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

func TestFirst(t *testing.T) {
	i := built(t, []story.Quote{
		{Code: "A", Reel: "B-INT", Day: "D10", Order: 0, Speaker: "Ines Corrigan", Text: "That bell again."},
		{Code: "B", Reel: "C-INT", Day: "D2", Order: 7, Speaker: "Ines Corrigan", Text: "They rang the bell."},
		{Code: "C", Reel: "C-INT", Day: "D2", Order: 3, Speaker: "Joss Adeyemi", Text: "Which bell, the bell on the far bank?"},
		{Code: "D", Reel: "Z-WILF", Day: "D1", Order: 5, Speaker: "Wilf Tranter", Text: "My father rang that bell."},
		{Code: "E", Reel: "Z-WILF", Day: "D1", Order: 2, Speaker: "Wilf Tranter", Text: "The bridge was not there."},
		{Code: "F", Reel: "C-INT", Day: "D2", Order: 9, Text: "Bell."},
	})
	for query, want := range map[string]string{
		"bell":              "D Wilf Tranter 1 [bell], C Joss Adeyemi 1 [bell bell], B Ines Corrigan 2 [bell], F  1 [Bell]",
		"bell speaker:ines": "B Ines Corrigan 2 [bell]",
		"zebra":             "",
	} {
		first, err := i.First(context.Background(), Query{Text: query}, nil)
		if err != nil {
			t.Fatal(err)
		}
		text := map[story.Code]string{"B": "They rang the bell.", "C": "Which bell, the bell on the far bank?", "D": "My father rang that bell.", "F": "Bell."}
		var got []string
		for _, f := range first {
			var marked []string
			for _, m := range f.Marks {
				marked = append(marked, text[f.Code][m.Start:m.End])
			}
			got = append(got, fmt.Sprintf("%s %s %d %v", f.Code, f.Speaker, f.Hits, marked))
		}
		if g := strings.Join(got, ", "); g != want {
			t.Errorf("%s: got %s, want %s", query, g, want)
		}
	}
}

func TestNatural(t *testing.T) {
	names := []string{"D10", "d1", "D2", "", "D1-INT10", "D1-INT9", "D01", "D1"}
	slices.SortFunc(names, story.CompareNames)
	if got, want := strings.Join(names, " "), " D01 D1 D1-INT9 D1-INT10 D2 D10 d1"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
