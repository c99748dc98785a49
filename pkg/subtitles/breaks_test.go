package subtitles

import (
	"strings"
	"testing"

	"rushlight/pkg/timedtext"
)

// What must stay on one line follows Karamitroglou 1998 (no break between
// article and noun, preposition and phrase, parts of a name; recalled); "|"
// is the place judged.
func TestBreakCost(t *testing.T) {
	for _, c := range []struct {
		language, text string
		want           int
	}{
		{"en", "She rang. | Nobody came.", breakSentence},
		{"en", "She rang; | nobody came.", breakClause},
		{"en", "She rang – | nobody came.", breakClause},
		{"en", "when you want it, | you ring", breakComma},
		{"en", "she said | “Ring it”", breakComma},
		{"en", "she rang | and nobody came", breakConjunction},
		{"en", "the man | who rings", breakConjunction},
		{"en", "a post | on the bank", breakPreposition},
		{"en", "the old school | has stopped ringing", breakPredicate},
		{"en", "an old | rope", breakPlain},
		{"en", "and you | ring", breakSubject},
		{"en", "I could tell you | everyone who rings", breakPlain},
		{"en", "I could tell | you everyone", breakObject},
		{"en", "for 34 | years", breakNumber},
		{"en", "they have | stopped", breakAuxiliary},
		{"en", "they've | stopped", breakAuxiliary},
		{"en", "they’ve | stopped", breakAuxiliary},
		{"it", "con l’ing. | Rossi", breakDeterminer},
		{"en", "said Wilf | Tranter", breakName},
		{"en", "a post on | the bank", breakDangling},
		{"en", "she rang and | nobody came", breakDangling},
		{"en", "I saw the | bell", breakDeterminer},
		{"en", "and Dr. | Hale rang", breakDeterminer},
		{"en", "J. | Adeyemi", breakDeterminer},
		{"en", "the Rev. | Hale rang", breakDeterminer},
		{"nl", "en dhr. | De Wit", breakDeterminer},
		{"it", "con l'ing. | Rossi", breakDeterminer},
		{"it", "il prof. | Rossi", breakDeterminer},
		{"fr", "avec MM. | Roy et Blanc", breakDeterminer},
		{"pt", "o prof. | Costa", breakDeterminer},
		{"es", "los sres. | Costa", breakDeterminer},
		{"de", "der Fährmann bzw. | Frau Roth", breakDeterminer},
		{"en", "He said no. | She rang.", breakSentence},
		{"de", "an dem | Pfosten", breakDeterminer},
		{"de", "die Glocke, | die läutet", breakComma},
		{"de", "sie läutet | und wartet", breakConjunction},
		{"de", "am 3. | Oktober", breakNumber},
		{"de", "im Jahr 1987. | Sie läutet", breakSentence},
		{"en", "she rang at 3. | Nobody came", breakSentence},
		{"fr", "il y a | un poteau", breakAuxiliary},
		{"fr", "une | cloche", breakDeterminer},
		{"es", "la campana | que suena", breakConjunction},
		{"it", "la | campana", breakDeterminer},
		{"nl", "het | touw", breakDeterminer},
		{"pt", "o | sino", breakDeterminer},
		{"pl", "dzwon | i lina", breakPlain}, // no list: punctuation only
		{"", "bell, | rope", breakComma},
	} {
		before, after, ok := strings.Cut(c.text, " | ")
		if !ok {
			t.Fatalf("%q has no place", c.text)
		}
		tokens := tokenize(before)
		n := len(tokens)
		tokens = append(tokens, tokenize(after)...)
		if got := grammarOf(c.language).breakCost(tokens, n); got != c.want {
			t.Errorf("%s: %q costs %d, want %d", c.language, c.text, got, c.want)
		}
	}
}

func TestLines(t *testing.T) {
	for _, c := range []struct{ name, language, text, want string }{
		{"short stays whole", "en", "Nobody rings a bridge.", "Nobody rings a bridge."},
		{"forty characters stay whole", "en", "The road was always the wrong way round.", "The road was always the wrong way round."},
		{"at the clause", "en", "The bell goes, and I look up, and there's nobody on the bank.", "The bell goes, and I look up,\nand there's nobody on the bank."},
		{"before the preposition", "en", "She came over on the ferry with her shoes in her hand.", "She came over on the ferry\nwith her shoes in her hand."},
		{"name kept whole", "en", "They asked old Ines Corrigan about the winter ice.", "They asked old Ines Corrigan\nabout the winter ice."},
		{"hyphen is no break", "en", "Thirty-four years of far-bank-and-back-again crossings", "Thirty-four years\nof far-bank-and-back-again crossings"},
		{"no-break space kept", "fr", "Et qui sonnait la cloche, vers les dix heures\u00a0?", "Et qui sonnait la cloche,\nvers les dix heures\u00a0?"},
		{"accents of two code points count once", "fr", strings.Repeat("e\u0301", 40), strings.Repeat("e\u0301", 40)},
	} {
		t.Run(c.name, func(t *testing.T) {
			doc, _ := mustDraft(t, []Piece{piece(0, 6, "Ines", c.text)}, DefaultLimits(c.language))
			if len(doc.Cues) != 1 {
				t.Fatalf("%d cues, want 1:\n%s", len(doc.Cues), show(doc, nil))
			}
			if got := doc.Cues[0].Plain(); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

func TestLongWordIsNeverCut(t *testing.T) {
	long := strings.Repeat("kabelfähre", 6)
	doc, found := mustDraft(t, []Piece{piece(0, 6, "Ines", "Die "+long+" steht.")}, DefaultLimits("de"))
	if got := said(doc); !strings.Contains(got, long) {
		t.Errorf("got %q, want the long word whole", got)
	}
	if !has(found, RuleLineLength) {
		t.Errorf("findings %v, want one of %q", found, RuleLineLength)
	}
}

func has(found []Finding, rule string) bool {
	for _, f := range found {
		if f.Rule == rule {
			return true
		}
	}
	return false
}

// said is the text of a draft without dashes and line ends.
func said(doc *timedtext.Document) string {
	var words []string
	for _, c := range doc.Cues {
		for _, l := range c.Lines {
			words = append(words, strings.Fields(l.Plain())...)
		}
	}
	return strings.Join(words, " ")
}
