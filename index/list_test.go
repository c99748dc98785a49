package index

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"rushlight/pkg/story"
)

// What lists reads is what bleve's own iterators give: for every term, over
// several segments with quotes taken out, and for the places in each document.
func TestListsLikeBleve(t *testing.T) {
	ctx := context.Background()
	dir := filepath.Join(t.TempDir(), "index")
	if err := Build(ctx, dir, "b", 1, segmentQuotes(), nil); err != nil {
		t.Fatal(err)
	}
	for state := int64(2); state < 5; state++ {
		var changed []story.Quote
		var gone []story.Code
		for k := range 40 {
			changed = append(changed, story.Quote{
				Code: story.Code(fmt.Sprintf("%07d", int64(k)*7+state)), Reel: "R9", Order: k, Speaker: "Ines", Language: "en",
				Text: fmt.Sprintf("the bells rang everywhere %d times and times", k),
			})
			gone = append(gone, story.Code(fmt.Sprintf("%07d", 2000+int64(k)*3+state)))
		}
		if err := Update(ctx, dir, "b", state, changed, gone); err != nil {
			t.Fatal(err)
		}
	}
	i, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer i.Close()
	if len(i.lists) < 2 {
		t.Fatalf("%d segments, want several", len(i.lists))
	}
	dead := uint64(0)
	for _, s := range i.lists {
		if s.dead != nil {
			dead += s.dead.GetCardinality()
		}
	}
	if dead < 50 {
		t.Fatalf("%d quotes taken out, want more", dead)
	}
	for _, field := range []string{fieldID, fieldFacts, fieldSaid} {
		dict, err := i.reader.FieldDict(field)
		if err != nil {
			t.Fatal(err)
		}
		terms := []string{"never said"}
		for e, err := dict.Next(); e != nil; e, err = dict.Next() {
			if err != nil {
				t.Fatal(err)
			}
			terms = append(terms, e.Term)
		}
		if err := dict.Close(); err != nil {
			t.Fatal(err)
		}
		for _, term := range terms {
			compareLists(t, i, field, term)
		}
	}
}

func compareLists(t *testing.T, i *Index, field, term string) {
	t.Helper()
	got, err := i.lists.read(field, term, true, nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := i.reader.TermFieldReader(context.Background(), []byte(term), field, true, false, true)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	var want []posting
	var docs []uint32
	var places [][]place
	for {
		d, err := r.Next(nil)
		if err != nil {
			t.Fatal(err)
		}
		if d == nil {
			break
		}
		doc := uint32(d.ID.Value())
		want = append(want, posting{doc, uint32(d.Freq)})
		docs = append(docs, doc)
		var at []place
		for _, v := range d.Vectors {
			at = append(at, place{v.Pos, int(v.Start), int(v.End)})
		}
		places = append(places, at)
	}
	if !slices.Equal(got, want) {
		t.Fatalf("%s %q: %d documents, want %d as bleve", field, term, len(got), len(want))
	}
	if field != fieldSaid {
		return
	}
	at, err := i.lists.occurrences(field, term, docs)
	if err != nil {
		t.Fatal(err)
	}
	for k := range docs {
		if !slices.Equal(at[k], places[k]) {
			t.Fatalf("%q in document %d: %v, want %v as bleve", term, docs[k], at[k], places[k])
		}
	}
}
