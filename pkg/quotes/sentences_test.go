package quotes

import (
	"bufio"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The test file of Unicode 15.0 (seen): ÷ marks a boundary, × none.
func TestUAX29(t *testing.T) {
	file, err := os.Open(corpora(t, "unicode/SentenceBreakTest.txt"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	cases := 0
	for s := bufio.NewScanner(file); s.Scan(); {
		line, _, _ := strings.Cut(s.Text(), "#")
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		cases++
		var text strings.Builder
		var want []int
		for _, f := range strings.Fields(line) {
			switch f {
			case "÷":
				if text.Len() > 0 {
					want = append(want, text.Len())
				}
			case "×":
			default:
				n, err := strconv.ParseUint(f, 16, 32)
				if err != nil {
					t.Fatal(err)
				}
				text.WriteRune(rune(n))
			}
		}
		if got := uaxEnds(text.String()); !slices.Equal(got, want) {
			t.Errorf("%s: got %v, want %v", line, got, want)
		}
	}
	t.Logf("FIGURE | Words on sound | sentence boundaries, Unicode SentenceBreakTest 15.0 | %d tried | every one", cases)
	if cases != 502 {
		t.Errorf("got %d cases, want the 502 of Unicode 15.0", cases)
	}
}

func TestSentences(t *testing.T) {
	tests := []struct{ name, language, marked string }{
		{"plain", "en", "The bell rings.|Nobody comes.|Why?|It is late!"},
		{"a sound in brackets", "en", "That was it.|[inaudible] Yes.|So it was?|(laughs) We went (late) home.|[bell] The ferry came. [laughs]"},
		{"a sound in a sentence", "en", "I asked Dr. [inaudible] Tranter about it.|He said [coughs] nothing."},
		{"titles and articles run together", "fr", "Mme. Roy aussi.|C'est l'art. 5 du règlement.|D’après l’art. 7, non."},
		{"titles and articles run together in Italian", "it", "L'avv. Bianchi lo sa.|Dell’ing. Rossi non so."},
		{"title", "en", "I asked Dr. Tranter about it.|He knew."},
		{"initials", "en", "That was W. Tranter on the landing.|Yes."},
		{"country", "en", "They came from the U.S. Navy then.|In the U.S.|The boats are bigger."},
		{"for example", "en", "Some things, e.g. Sunday bells, stay.|Others go."},
		{"number", "en", "It was ferry No. 4 that sank.|No.|I never saw it."},
		{"et cetera", "en", "Ropes, tar, etc.|Nobody paid for it."},
		{"afternoon small", "en", "At 6 p.m. the bell rings.|At 7 p.m.|We stop."},
		{"figure", "en", "It costs 3.50 a crossing.|In 1990 it was 1.20 or so."},
		{"filler dots", "en", "um... I don't know.|It went."},
		{"filler dots inside", "en", "Well, uh... Ines did that.|I didn't."},
		{"dots then small", "en", "We had a bell... and then we had none.|So."},
		{"dots end", "en", "It just stopped...|Nobody said why."},
		{"link dots", "en", "We went to the... Tranter's place.|Then home."},
		{"restart", "en", "It was... It was cold.|Very."},
		{"ellipsis sign", "en", "It was gone…|Nobody rang.|Well… I did."},
		{"ellipsis sign small", "en", "It was gone… and so were we."},
		{"he said", "en", "“Really?” he said.|“Yes!”|He left."},
		{"quoted end", "en", "She said \"ring the bell.\"|Then she left."},
		{"small letters", "en", "it rang twice.|then it stopped.|nobody came.|mr. tranter did."},
		{"line breaks", "en", "The bell\nrings at\r\nnight.|It does."},
		{"two signs", "en", "You rang?!|Yes."},
		{"only signs after", "en", "The bell rings.|-- Then nothing. ..."},
		{"none", "en", "no stop at all"},
		{"empty", "en", ""},
		{"spaces", "en", "  \n "},
		{"only signs", "en", "… ?!"},
		{"interrupted", "en", "I was going to -- I went home.|Later."},
		{"german title", "de", "Das sagte Dr. Brandt gestern.|Er weiß es."},
		{"german ordinal", "de", "Am 3. Mai fuhr sie zuletzt.|Am 12. Dezember nicht."},
		{"german abbreviation", "de", "Die Fähre, z.B. Linie 2, fährt u.a. Sonntag.|Sie fuhr."},
		{"german etc", "de", "Seile, Teer usw. lagen da.|Das war alles."},
		{"french", "fr", "M. Tranter attend.|Il sonne la cloche.|Pourquoi ?|On ne sait pas."},
		{"french guillemets", "fr", "« Vraiment ? » dit-elle.|Oui."},
		{"spanish", "es", "¿Quién llama?|La Sra. Corrigan.|¡Claro!|Vale."},
		{"dutch", "nl", "Dat zei dhr. Jansen bijv. Maandag al.|Ja."},
		{"italian", "it", "Il sig. Rossi aspetta.|La campana suona."},
		{"portuguese", "pt", "O Sr. Silva espera.|O sino toca."},
		{"japanese", "ja", "鐘が鳴る。|誰も来ない。|なぜ？|「はい。」と言った。"},
		{"chinese", "zh", "钟响了。|没有人来！"},
		{"hindi", "hi", "घंटी बजती है।|कोई नहीं आता।"},
		{"arabic", "ar", "من يقرع الجرس؟|لا أحد."},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.ReplaceAll(tt.marked, "|", " ")
			if tt.language == "ja" || tt.language == "zh" {
				text = strings.ReplaceAll(tt.marked, "|", "")
			}
			var got []string
			for _, r := range Sentences(text, tt.language) {
				got = append(got, text[r.Start:r.End])
			}
			want := strings.Split(tt.marked, "|")
			if strings.TrimSpace(tt.marked) == "" {
				want = nil
			}
			if !slices.Equal(got, want) {
				t.Errorf("got  %q\nwant %q", got, want)
			}
		})
	}
}

// Whatever the text, the ranges are in order, hold everything but white
// space, and begin and end at something else.
func FuzzSentences(f *testing.F) {
	for _, s := range []string{"The bell rings. Nobody comes.", "um... I", "… ?!", "« Oui ? » dit-elle.", "なぜ？「はい。」", "a\x00b. C", "\xff. \xff", "\t\xff", "Dr. J. Smith, No. 4", "\u2028x\u0085 y"} {
		for _, l := range []string{"en", "fr", "de", "ja", ""} {
			f.Add(s, l)
		}
	}
	f.Fuzz(func(t *testing.T, text, language string) {
		at := 0
		for i, r := range Sentences(text, language) {
			if r.Start < at || r.End <= r.Start || r.End > len(text) {
				t.Fatalf("range %d is %v after %d in %d bytes", i, r, at, len(text))
			}
			if s := text[r.Start:r.End]; strings.TrimSpace(s) != s {
				t.Fatalf("range %d is %q", i, s)
			}
			if gap := text[at:r.Start]; strings.TrimSpace(gap) != "" {
				t.Fatalf("%q is lost before range %d", gap, i)
			}
			at = r.End
		}
		if rest := text[at:]; strings.TrimSpace(rest) != "" {
			t.Fatalf("%q is lost at the end", rest)
		}
	})
}
