package review

import "strings"

// tongue holds the word lists of a language by which a passage is judged.
// Short lists of common words, made for this; no source.
type tongue struct {
	// points are words that point to something said before; joining are words
	// that tie a saying to one before and can mostly be cut off; bound tie it
	// so that it can't.
	points, joining, bound map[string]bool
	// articles are those of points that mostly are articles, where nouns are
	// written with capital letters; afterThem are verbs that may follow them
	// where they are not. impersonal are two words that point to nothing.
	articles, afterThem, impersonal map[string]bool
	// halves begin a clause that needs another.
	halves map[string]bool
	// hanging words don't end a sentence.
	hanging map[string]bool
	// replies mean nothing without what was asked.
	replies map[string]bool
	filler  map[string]bool
	// markers are two words that say nothing where a clause ends after them.
	markers map[string]bool
	self    map[string]bool
	// strong words say all or nothing.
	strong map[string]bool
	// concrete words can be seen, heard or touched; vague ones cannot. nil
	// where there is no list.
	concrete, vague map[string]bool
}

// tongueOf finds the lists of a language; empty ones where it has none, by
// which nothing counts against a passage.
func tongueOf(language string) *tongue {
	base, _, _ := strings.Cut(strings.ToLower(strings.ReplaceAll(language, "_", "-")), "-")
	if t, ok := tongues()[base]; ok {
		return t
	}
	return &tongue{}
}
