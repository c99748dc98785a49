// Package themes finds what keeps coming back in the talk: words and short
// phrases, before anyone has named a theme.
//
// What it does: cuts quotes into words, joins the inflected forms of a word
// into a family, finds phrases of two and three words that belong together,
// and ranks both by how much more they are said than in everyday language and
// than in the other interviews, who says them, and when they come up.
//
// What it doesn't: it knows no synonyms, keeps no state, writes no themes, and
// has no reference of everyday language but English; for other languages it
// ranks by contrast between interviews alone.
//
// # Sources
//
// Dunning 1993, "Accurate Methods for the Statistics of Surprise and
// Coincidence" (G² of a 2×2 table); Rayson and Garside 2000, "Comparing
// Corpora using Frequency Profiling" (log-likelihood of two corpora); Gries
// 2008 and 2020 (deviation of proportions); Lyne 1985 (Juilland's D and its
// kin). That the smaller of the two contrasts finds title words best was
// measured on real meetings; see TestTopicWords. Everyday language: see
// everyday/README.md.
package themes
