package bank

import (
	"errors"
	"fmt"
	"testing"

	"rushlight/pkg/timecode"
)

// The counts are those of the quotes one by one.
func TestTalk(t *testing.T) {
	b := newBank(t)
	if list, err := b.Talk(t.Context()); len(list) != 0 || err != nil {
		t.Errorf("got %v, %v in an empty bank", list, err)
	}
	shoot(t, b)
	do(t, b, "ingest", func(tx *Tx) error {
		list := sayings("D2-INT2", "Nobody rings a bridge.", "I still hear the bell.", "It was for them.")
		list[0].Speaker, list[2].Speaker, list[2].Out = "", "ines", list[2].In+5*timecode.Second
		return errors.Join(tx.PutQuotes("D2-INT2", list), tx.PutRecording(recording("TONE", "D3")))
	})
	var want []Talk
	perReel := map[string]int{}
	at := map[string]int{}
	for _, q := range all(t, b, Filter{}) {
		perReel[q.Reel]++
		key := q.Reel + "/" + q.Speaker
		i, ok := at[key]
		if !ok {
			i, at[key] = len(want), len(want)
			want = append(want, Talk{Reel: q.Reel, Speaker: q.Speaker})
		}
		want[i].Quotes++
		want[i].Length += q.Length()
	}
	if got, err := b.Talk(t.Context()); len(want) != 4 || fmt.Sprint(got) != fmt.Sprint(want) || err != nil {
		t.Errorf("got %v, %v, want %v", got, err, want)
	}
	if got, err := b.QuotesIn(t.Context()); fmt.Sprint(got) != fmt.Sprint(perReel) || err != nil {
		t.Errorf("got %v, %v, want %v", got, err, perReel)
	}
}
