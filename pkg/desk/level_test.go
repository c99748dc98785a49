package desk_test

import (
	"context"
	"errors"
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"rushlight/pkg/desk"
	"rushlight/pkg/story"
)

// TestLevel: a stringout brought to −23 LUFS has that loudness as ffmpeg's
// ebur128 filter measures it, from takes that differ by more than 3 LU.
func TestLevel(t *testing.T) {
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("no ffmpeg: apt-get install ffmpeg")
	}
	ctx := context.Background()
	d := demoBank(t)
	codes := []story.Code{}
	for _, q := range []string{`"all the timetable there ever was"`, `"my wife rang the bell"`, `"the whole town is talking"`} {
		f, err := d.Find(ctx, desk.FindOptions{Query: q, Limit: 1})
		if err != nil || len(f.Hits) != 1 {
			t.Fatalf("%s: %d hits, %v", q, len(f.Hits), err)
		}
		codes = append(codes, f.Hits[0].Quote.Code)
	}
	loudness := func(name string, level float64, codes []story.Code) float64 {
		if _, err := d.NewSelects(ctx, name, ""); err != nil {
			t.Fatal(err)
		}
		if _, err := d.AddSelects(ctx, name, codes, 0); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "out.wav")
		e, err := d.Export(ctx, desk.ExportOptions{Selects: name, Form: "wav", Out: desk.Output{Path: path}, Level: level, Handles: "0.02"})
		if err != nil {
			t.Fatalf("%s: %v, %v", name, err, e.Notes)
		}
		return ebur128(t, path)
	}
	softest, loudest := math.Inf(1), math.Inf(-1)
	for i, c := range codes {
		got := loudness("as-is-"+strconv.Itoa(i), 0, []story.Code{c})
		softest, loudest = min(softest, got), max(loudest, got)
		if got := loudness("level-"+strconv.Itoa(i), -23, []story.Code{c}); math.Abs(got+23) > 0.3 {
			t.Errorf("%s alone is at %.1f LUFS, want -23", c, got)
		}
	}
	if loudest-softest < 3 {
		t.Errorf("the takes lie within %.1f LU: the test shows nothing", loudest-softest)
	}
	if got := loudness("all", -23, codes); math.Abs(got+23) > 0.5 {
		t.Errorf("all together are at %.1f LUFS, want -23", got)
	}
	_, err := d.Export(ctx, desk.ExportOptions{Selects: "all", Form: "wav", Out: desk.Output{Path: filepath.Join(t.TempDir(), "x.wav")}, Level: 3})
	if !errors.Is(err, desk.ErrUsage) {
		t.Errorf("a level of +3: %v, want a wrong call", err)
	}
}

var integrated = regexp.MustCompile(`(?m)^\s+I:\s+(-?[0-9.]+) LUFS$`)

func ebur128(t *testing.T, path string) float64 {
	t.Helper()
	out, err := exec.Command("ffmpeg", "-hide_banner", "-nostats", "-i", path, "-af", "ebur128", "-f", "null", "-").CombinedOutput()
	m := integrated.FindAllSubmatch(out, -1)
	if err != nil || len(m) == 0 {
		t.Fatalf("ffmpeg: %v\n%s", err, out)
	}
	v, err := strconv.ParseFloat(string(m[len(m)-1][1]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
