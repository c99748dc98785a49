package desk

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// pair finds the reel a transcript belongs to: the one named by --for, the
// one it was read for before, the one whose worksheet it is, the one whose name
// its stem begins with, or the only reel in its folder that waits for words. A
// transcript of no recording becomes a reel of its own; one that may be of
// several is refused.
func (in *ingest) pair(ctx context.Context, f found, doc *timedtext.Document, all []found, old story.Recording) (story.Recording, FileState, string, error) {
	if in.opt.For != "" {
		rec, err := in.bank.Recording(ctx, in.opt.For)
		return rec, stateOf(rec), "", err
	}
	if old.Reel != "" {
		return old, Corrected, "", nil
	}
	recs, err := in.bank.Recordings(ctx)
	if err != nil {
		return story.Recording{}, "", "", err
	}
	rec, ok := sheetOf(recs, doc)
	if !ok {
		rec, ok = beside(recs, f.path)
	}
	if !ok {
		if rec, ok, err = byName(recs, f.path); err != nil {
			return story.Recording{}, "", "", err
		}
	}
	if !ok {
		rec, ok = byFolder(recs, f, all)
	}
	switch t := rec.Transcript.Path; {
	case ok && t != "" && t != f.path && exists(t):
		return rec, "", "", refuse("to put this one in its place: rushlight ingest --for "+rec.Reel+" FILE",
			"%s has its words from %s already", rec.Reel, t)
	case ok:
		return rec, stateOf(rec), "", nil
	}
	name, err := in.freeReel(ctx, f.path)
	rec = story.Recording{Reel: name, Day: dayOf(name, f.path, ""), Language: in.opt.Language, Clock: timecode.Clock{Base: in.base}}
	if doc.Base.Rate.Known() && !in.ruled {
		rec.Clock.Base = doc.Base
	}
	if doc.Labels && len(doc.Cues) > 0 {
		rec.Clock.Start = rec.Clock.Base.Rate.Snap(doc.Cues[0].In, timecode.Floor)
	}
	return rec, StateNew, "no recording of that name: kept as a reel of its own; to pair it, --for REEL", err
}

// likely is the reel that a transcript belongs to as far as names tell, before
// it is read: its timecodes count in that reel's frames. The zero Recording if
// they don't.
func (in *ingest) likely(ctx context.Context, f found, old story.Recording) (story.Recording, error) {
	if in.opt.For != "" {
		return in.bank.Recording(ctx, in.opt.For)
	}
	if old.Reel != "" {
		return old, nil
	}
	recs, err := in.bank.Recordings(ctx)
	if err != nil {
		return story.Recording{}, err
	}
	rec, ok := beside(recs, f.path)
	if !ok {
		rec, _, _ = byName(recs, f.path) // of several, pair tells
	}
	return rec, nil
}

func stateOf(rec story.Recording) FileState {
	if rec.Transcript.Path == "" {
		return StateNew
	}
	return Corrected
}

// beside finds the reel whose recording lies in the same folder under the same
// name, whatever the reel is called.
func beside(recs []story.Recording, path string) (story.Recording, bool) {
	for _, r := range recs {
		if r.Path != "" && filepath.Dir(r.Path) == filepath.Dir(path) && stemOf(r.Path) == stemOf(path) {
			return r, true
		}
	}
	return story.Recording{}, false
}

// sheetOf finds the reel that a document is a worksheet for.
func sheetOf(recs []story.Recording, doc *timedtext.Document) (story.Recording, bool) {
	name := doc.WorksheetOf()
	i := slices.IndexFunc(recs, func(r story.Recording) bool { return name != "" && strings.EqualFold(r.Reel, name) })
	if i < 0 {
		return story.Recording{}, false
	}
	return recs[i], true
}

// byName finds the one reel that is called as a transcript is. Cards number
// their files alike: of several the one counts whose folder is called as that
// of the transcript; a camera's own sound only counts if nothing else does. If
// still several are left the error says so.
func byName(recs []story.Recording, path string) (story.Recording, bool, error) {
	list := byStem(recs, stemOf(path))
	for _, better := range []func(story.Recording) bool{
		func(r story.Recording) bool { return !pictured(r) },
		func(r story.Recording) bool {
			return strings.EqualFold(filepath.Base(filepath.Dir(r.Path)), filepath.Base(filepath.Dir(path)))
		},
	} {
		left := slices.DeleteFunc(slices.Clone(list), func(r story.Recording) bool { return !better(r) })
		if len(left) > 0 {
			list = left
		}
	}
	switch len(list) {
	case 0:
		return story.Recording{}, false, nil
	case 1:
		return list[0], true, nil
	}
	names := make([]string, len(list))
	for i, r := range list {
		names[i] = r.Reel
	}
	return story.Recording{}, false, refuse("say which: rushlight ingest --for "+names[0]+" FILE",
		"several reels are called so: %s", someOf(names))
}

// byStem finds the reels with the longest name that the stem is, or begins
// with before a sign: D1-INT1.en, D1-INT1_transcript. Case, hyphens and
// underscores don't matter. The name of the recording's file or of its tape
// serves as well.
func byStem(recs []story.Recording, stem string) []story.Recording {
	var best []story.Recording
	longest := 0
	want := plainName(stem)
	for _, r := range recs {
		length := 0
		for _, name := range []string{plainName(r.Reel), plainName(stemOf(r.Path)), plainName(r.Tape)} {
			if strings.HasPrefix(want, name) && (want == name || endsAtSign(stem, len([]rune(name)))) {
				length = max(length, len(name))
			}
		}
		if length > longest {
			best, longest = nil, length
		}
		if length == longest && length > 0 {
			best = append(best, r)
		}
	}
	return best
}

// plainName is lower case letters and digits; every run of signs is dropped.
func plainName(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(s) {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// endsAtSign tells whether the stem has a sign right after its first n
// letters and digits.
func endsAtSign(stem string, n int) bool {
	for _, r := range stem {
		alnum := unicode.IsLetter(r) || unicode.IsDigit(r)
		if n == 0 {
			return !alnum
		}
		if alnum {
			n--
		}
	}
	return false
}

// byFolder pairs the only transcript of a folder with the only reel there
// that waits for words.
func byFolder(recs []story.Recording, f found, all []found) (story.Recording, bool) {
	dir := filepath.Dir(f.path)
	here := slices.DeleteFunc(slices.Clone(all), func(o found) bool { return filepath.Dir(o.path) != dir })
	var waiting []story.Recording
	for _, r := range recs {
		if r.Essence != "" && r.Transcript.Path == "" && filepath.Dir(r.Path) == dir {
			waiting = append(waiting, r)
		}
	}
	if len(here) != 1 || len(waiting) != 1 {
		return story.Recording{}, false
	}
	return waiting[0], true
}
