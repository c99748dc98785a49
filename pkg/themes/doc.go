// Package themes finds what keeps coming back in the talk, before anyone has
// named a theme, and maps where the themes that people named meet.
//
// What it does: cuts quotes into words, joins inflected and derived forms of a
// word into a family, finds phrases of two and three words that belong
// together, and ranks both by how much more they are said than in everyday
// language and than in the other interviews, who says them, and when they come
// up; says why each stands where it stands; and lists what sets a speaker, a
// reel or a day apart, and what only emerged in the last days of the shoot.
//
// What it doesn't: it knows no synonyms but those it is given, and counts none together; it keeps no state, and names no themes.
// It has lists of everyday language for English, German, Spanish, French,
// Italian, Dutch and Portuguese; for other languages it ranks by contrast
// inside the talk alone and says so.
//
// # Sources
//
// Association: Dunning 1993, "Accurate Methods for the Statistics of Surprise
// and Coincidence" (G² of a 2×2 table); Manning and Schütze 1999, chapter 5 (t,
// χ², pointwise mutual information). Keyness: Rayson and Garside 2000,
// "Comparing Corpora using Frequency Profiling"; Monroe, Colaresi and Quinn
// 2008, "Fightin' Words" (log odds with a Dirichlet prior). Dispersion: Gries
// 2008 and 2020, Lijffijt and Gries 2012 (deviation of proportions); Lyne 1985
// (Juilland's D and its kin). Bursts: Kleinberg 2002, "Bursty and Hierarchical
// Structure in Streams". Everyday language: see everyday/README.md. What the
// ranking reaches on real meetings: see TestTopicWords and docs/themes.md.
package themes
