// Package index answers searches over quotes. It is a shadow of the bank: it
// holds no truth, can be thrown away at any time and is rebuilt from quotes.
//
// What it does: cuts quotes into words, folds case and accents, finds the
// inflected forms of each quote's language, keeps all that in a bleve (scorch)
// index on disk, reads queries as people write them, and answers with ranked
// hits, counts and the places to highlight.
//
// It also finds what is like a quote, other tellings of one story, and who
// said a thing first.
//
// What it doesn't: it never sees the bank, holds no text to show (only words
// and their places), and doesn't know what a query is for.
//
// # On disk
//
// The folder holds complete generations, g-00000001 and up. A generation is
// never changed once it has its name: a new one is made beside it under a
// name that readers ignore, and switched by a rename. See generation.go and
// docs/decisions/0005-index-generations.md. A full build writes bleve's
// segment itself (segment.go), an update lets bleve write; whole lists are read
// straight from the segments (list.go). A search for the best hits works on
// sets of documents and reads each list once (sweep.go and
// docs/decisions/0010-common-words.md).
//
// # Words
//
// A word is a run of letters, digits and marks (an apostrophe may stand
// inside); each ideograph, kana, hangul syllable or letter of a script
// written without spaces is a word of its own, and what was typed without a
// space is searched as a phrase. See words.go.
//
// # Ranking
//
// Okapi BM25, k1 1.2, b 0.75 (Robertson and Zaragoza 2009, "The Probabilistic
// Relevance Framework: BM25 and Beyond", formula 3.15, with the idf of
// Robertson and Spärck Jones made positive by 1 + x). All forms of a word
// count as one term; a form exactly as typed counts more than the others.
// Hits of one score stand in the order of reel and place in the reel.
//
// Query.Smooth and Like rank by what is said around a quote too (smooth.go):
// on real meetings with named topics that finds far more than the words alone.
//
// # Sketches
//
// Beside its words each quote keeps a sketch: its telling words in order, two
// bytes each, in the columns (sketch.go). With it the words of a
// quote are found again without its text (Like), and two quotes are compared
// word by word (Takes, Query.Fold).
//
// # Synonyms
//
// Query.Wide takes synonyms from WordNet 3.0 (wordnet/README.md) for English,
// and for other languages from thesaurus files that are on the machine
// (mythes.go); Result.NotWidened names the languages of the bank without one.
// They are read only when asked for.
package index
