// Package subtitles drafts subtitles from quotes and checks them.
//
// A draft goes like this. Quotes that follow each other in one recording by
// one speaker are taken together and cut into words. Each word gets a time:
// its own where the transcript has word times, else a share of the heard
// speech, with ends of clauses moved into the heard pauses. Dynamic programming
// then picks the cues, and inside each cue the lines, so that the breaks cost
// least: a break costs nothing after a sentence, little after a comma, more
// before a conjunction or preposition, most between an article and its noun.
// Last, each cue comes in with the speech, stays on after it as long as reading
// asks and silence allows, and keeps the gap to the next.
//
// What a draft never does: shorten or reorder words, or leave out any that are
// heard. (Words outside a trim go; without word times that is an estimate.) Where
// the limits cannot be kept, it says so in a Finding.
//
// What this package does not do: it parses no grammar (it goes by word lists
// for English, German, French, Spanish, Italian, Dutch and Portuguese, and by
// punctuation for the rest), knows no shot changes, and has no dictionary for
// scripts without spaces: Thai, Lao, Khmer and Burmese break at spaces only.
//
// Sources: Karamitroglou 1998, "A Proposed Set of Subtitling Standards in
// Europe" (line length, breaks at the highest syntactic node); Ivarsson &
// Carroll 1998, Code of Good Subtitling Practice (durations, lines); BBC
// Subtitle Guidelines (lead and hang, dashes for two speakers). Their figures
// stand at DefaultLimits with how far they could be verified. Characters are
// grapheme clusters (Unicode UAX #29); breaks in Chinese, Japanese and Korean
// follow Unicode UAX #14.
package subtitles
