package timedtext

import (
	"strings"
	"testing"

	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
)

func TestEncodings(t *testing.T) {
	const srt = "1\n00:00:01,000 --> 00:00:02,000\nÇa va, señor Müller – €5\n"
	const want = "Ça va, señor Müller – €5"
	cp1252 := strings.NewReplacer("Ç", "\xc7", "ñ", "\xf1", "ü", "\xfc", "–", "\x96", "€", "\x80").Replace(srt)
	utf16 := func(e unicode.Endianness, bom unicode.BOMPolicy) string {
		s, err := unicode.UTF16(e, bom).NewEncoder().String(srt)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	cases := []struct{ name, in, as, encoding, want string }{
		{"UTF-8", srt, "", "utf-8", want},
		{"UTF-8 with mark", "\ufeff" + srt, "", "utf-8", want},
		{"UTF-16LE with mark", utf16(unicode.LittleEndian, unicode.UseBOM), "", "utf-16le", want},
		{"UTF-16BE with mark", utf16(unicode.BigEndian, unicode.UseBOM), "", "utf-16be", want},
		{"UTF-16LE bare", utf16(unicode.LittleEndian, unicode.IgnoreBOM), "", "utf-16le", want},
		{"UTF-16BE bare", utf16(unicode.BigEndian, unicode.IgnoreBOM), "", "utf-16be", want},
		{"Windows-1252", cp1252, "", "windows-1252", want},
		{"Windows-1252 named", cp1252, "latin1", "windows-1252", want},
		{"Windows-1251 named", strings.Replace(srt, want, "\xca\xee\xeb\xee\xea\xee\xeb", 1), "cp1251", "windows-1251", "Колокол"},
		{"Windows-1252 after 100 KB", strings.Repeat("1\n00:00:00,500 --> 00:00:00,900\nbell\n\n", 3000) + cp1252, "", "windows-1252", want},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d, err := Read(strings.NewReader(c.in), ReadOptions{Encoding: c.as})
			if err != nil {
				t.Fatal(err)
			}
			if got := d.Cues[len(d.Cues)-1].Plain(); got != c.want || d.Encoding != c.encoding || d.Format != SRT {
				t.Errorf("got %q in %s as %s, want %q in %s", got, d.Encoding, d.Format, c.want, c.encoding)
			}
		})
	}
	t.Run("ASS in UTF-16", func(t *testing.T) { // a defect of go-astisub v0.34.0
		s, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String("[Script Info]\n\n[Events]\nDialogue: 0,0:00:01.50,0:00:02.25,Default,Ines,0,0,0,,Bell.")
		if err != nil {
			t.Fatal(err)
		}
		d, err := Read(strings.NewReader(s), ReadOptions{})
		if err != nil || told(d) != "1.50-2.25 [Ines] Bell." {
			t.Errorf("got %v, %v", told(d), err)
		}
	})
	t.Run("Windows-1251 not named", func(t *testing.T) {
		d, err := Read(strings.NewReader(strings.Replace(srt, want, "\xca\xee\xeb\xee\xea\xee\xeb", 1)), ReadOptions{})
		if err != nil || len(d.Repairs) != 1 || d.Encoding != "windows-1251" || d.Cues[0].Plain() != "Колокол" || !strings.Contains(d.Repairs[0].What, "name its encoding") {
			t.Errorf("got %v, %v, want a doubt about the encoding", d.Repairs, err)
		}
	})
	t.Run("XML declaration", func(t *testing.T) {
		d, err := Read(strings.NewReader("<?xml version='1.0' encoding='ISO-8859-5'?><tt xmlns='http://www.w3.org/ns/ttml'><body><div><p begin='1s' end='2s'>\xba\xde</p></div></body></tt>"), ReadOptions{})
		if err != nil || d.Cues[0].Plain() != "Ко" || d.Encoding != "iso-8859-5" {
			t.Errorf("got %v, %v", d, err)
		}
	})
	t.Run("stray byte before the UTF-8", func(t *testing.T) {
		d, err := Read(strings.NewReader(strings.Replace(srt, "\nÇ", "\n\xe9 Ç", 1)), ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if got := d.Cues[0].Plain(); got != "é "+want || d.Encoding != "utf-8" || len(d.Repairs) != 1 {
			t.Errorf("got %q in %s, repairs %v", got, d.Encoding, d.Repairs)
		}
	})
	t.Run("stray byte in UTF-8", func(t *testing.T) {
		d, err := Read(strings.NewReader(strings.Replace(srt, "5", "5 \xe9", 1)), ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if got := d.Cues[0].Plain(); got != want+" é" || d.Encoding != "utf-8" || len(d.Repairs) != 1 {
			t.Errorf("got %q in %s, repairs %v", got, d.Encoding, d.Repairs)
		}
	})
}

// Sentences of our own in languages that the encodings are for, encoded by
// golang.org/x/text, must be told apart.
func TestGuessEncoding(t *testing.T) {
	sentences := map[string]string{
		"French":     "Personne ne sonne pour un pont, et pourtant là-bas, côté rivière, on a rêvé d’une cloche à l’été passé, ça sonnait.",
		"German":     "Niemand läutet für eine Brücke, und das Geläut drüben größer, schöner, früher.",
		"Spanish":    "Nadie llama a un puente; la campana sonó mañana y después, allá, en el río. ¿Quién llamó?",
		"Portuguese": "Ninguém chama uma ponte, não é? O sino tocava às vezes no verão, lá em baixo, e depois já não.",
		"Icelandic":  "Enginn hringir í brú, það er það sem ég sagði þá, og bjallan þagði á ánni.",
		"Polish":     "Nikt nie dzwoni na most, a dzwon po drugiej stronie rzeki już się nie odzywał, źle się dzieje, mówiłem.",
		"Czech":      "Nikdo nezvoní na most, říkal jsem, a zvon na druhém břehu už dávno mlčí, protože žádný převozník není.",
		"Hungarian":  "Senki sem harangoz egy hídnak, és a túlsó parton őrzött harang sem szól többé, tűnődött.",
		"Turkish":    "Kimse bir köprüyü çağırmaz, karşı kıyıdaki çan artık çalmıyor, değil mi, dışarıda şimdi.",
		"Romanian":   "Nimeni nu sună la un pod, şi clopotul de pe malul celălalt tace, aşa că îl ţin minte.",
		"Italian":    "Nessuno suona a un ponte: la campana è là, più in là, e non si sentirà perché così è.",
		"Pangram":    "Zażółć gęślą jaźń, proszę pana. Byłem wtedy na promie i słyszałem dzwon.",
		"Russian":    "Никто не звонит мосту, и колокол на дальнем берегу давно молчит.",
		"Greek":      "Κανείς δεν χτυπά για μια γέφυρα, και η καμπάνα στην άλλη όχθη σωπαίνει.",
	}
	cases := []struct{ language, encoding string }{
		{"French", "windows-1252"},
		{"German", "windows-1252"},
		{"Spanish", "windows-1252"},
		{"Portuguese", "windows-1252"},
		{"Icelandic", "windows-1252"},
		{"Polish", "windows-1250"},
		{"Czech", "windows-1250"},
		{"Hungarian", "windows-1250"},
		{"Polish", "iso-8859-2"},
		{"Pangram", "windows-1250"},
		{"Pangram", "iso-8859-2"},
		{"Romanian", "windows-1250"},
		{"Italian", "windows-1252"},
		{"Italian", "macintosh"},
		{"Portuguese", "macintosh"},
		{"Czech", "iso-8859-2"},
		{"Turkish", "windows-1254"},
		{"Russian", "windows-1251"},
		{"Russian", "iso-8859-5"},
		{"Greek", "windows-1253"},
		{"French", "macintosh"},
		{"German", "macintosh"},
		{"Spanish", "macintosh"},
	}
	for _, c := range cases {
		enc, err := htmlindex.Get(c.encoding)
		if err != nil {
			t.Fatal(err)
		}
		text, err := enc.NewEncoder().String("[0:10] " + sentences[c.language])
		if err != nil {
			t.Fatalf("%s: %v", c.language, err)
		}
		d, err := Read(strings.NewReader(text), ReadOptions{})
		if err != nil {
			t.Errorf("%s in %s: %v", c.language, c.encoding, err)
			continue
		}
		if got := d.Cues[0].Plain(); got != sentences[c.language] {
			t.Errorf("%s in %s: read as %s: %s", c.language, c.encoding, d.Encoding, got)
		}
	}
}
