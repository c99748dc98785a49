package desk_test

import (
	"context"
	"path/filepath"
	"testing"

	"rushlight/pkg/desk"
	"rushlight/pkg/story"
)

// TestStringoutLiesUnderItsList: whatever the handles, a stringout is as long
// as the edit decision list of the same selects: crossfades take nothing off,
// handles are whole frames in both, and end alike where a recording ends.
func TestStringoutLiesUnderItsList(t *testing.T) {
	ctx := context.Background()
	d := demoBank(t)
	f, err := d.Find(ctx, desk.FindOptions{Query: "the OR bell OR ring", Limit: 10})
	if err != nil || len(f.Hits) < 10 {
		t.Fatalf("%d hits, %v", len(f.Hits), err)
	}
	var codes []story.Code
	for _, h := range f.Hits {
		codes = append(codes, h.Quote.Code)
	}
	if _, err := d.NewSelects(ctx, "cut", ""); err != nil {
		t.Fatal(err)
	}
	if _, err := d.AddSelects(ctx, "cut", codes, 0); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	last := 0.0
	for _, handles := range []string{"0", "7f", "0.5", "2s"} {
		var seconds []float64
		for _, form := range []string{"wav", "edl"} {
			e, err := d.Export(ctx, desk.ExportOptions{Selects: "cut", Form: form, Out: desk.Output{Path: filepath.Join(dir, handles+"."+form)}, Handles: handles})
			if err != nil {
				t.Fatal(err)
			}
			seconds = append(seconds, e.Seconds)
		}
		if seconds[0] != seconds[1] {
			t.Errorf("handles of %s: the stringout is %v s long, its list %v s", handles, seconds[0], seconds[1])
		}
		if seconds[0] <= last {
			t.Errorf("handles of %s: %v s, no longer than with fewer", handles, seconds[0])
		}
		last = seconds[0]
	}
}
