package themes

import (
	"context"
	"errors"
	"math/rand/v2"
	"testing"
)

// Who stops the search while lists are made waits for one of them, not for
// those of all reels.
func TestFindStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	asked := 0
	related := func(string, string) []string {
		asked++
		cancel()
		return nil
	}
	quotes := madeTalk(rand.New(rand.NewPCG(9, 1)), 40, 30)
	found, err := Find(ctx, inOrder(quotes), Options{By: ByReel, Related: related})
	if !errors.Is(err, context.Canceled) || len(found.Recurring) > 0 {
		t.Errorf("got %d terms, %v, want none and the context's error", len(found.Recurring), err)
	}
	if most := defaultLimit * formsMost; asked == 0 || asked > most {
		t.Errorf("synonyms asked for %d times, want 1 to %d, those of one list", asked, most)
	}
}
