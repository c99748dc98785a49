package timedtext

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"

	"rushlight/pkg/timecode"
)

// Spellings of speech-to-text programs met in practice: common practice, no
// source.
func TestReadJSON(t *testing.T) {
	j := JSON
	runReads(t, []readCase{
		{"array", `[{"start": 1.5, "end": 2.25, "text": " It was the bell."}, {"start": 3, "end": 4.5, "text": "Yes.", "speaker": "Ines"}]`, "1.50-2.25 It was the bell.\n3-4.50 [Ines] Yes.", j, 0},
		{"segments", `{"text": "all", "language": "en", "segments": [{"id": 0, "seek": 0, "start": 0.0, "end": 2.0, "text": "Bell.", "tokens": [1, 2]}]}`, "0-2 Bell.", j, 0},
		{"start_time and content", `[{"start_time": "1.5", "end_time": "2.25", "content": "Bell."}]`, "1.50-2.25 Bell.", j, 0},
		{"clock strings", `[{"from": "00:00:01,500", "to": "00:00:02.250", "transcript": "Bell."}]`, "1.50-2.25 Bell.", j, 0},
		{"start_ms", `[{"start_ms": 1500, "end_ms": 2250, "text": "Bell."}]`, "1.50-2.25 Bell.", j, 0},
		{"whole milliseconds", `{"utterances": [{"start": 1500, "end": 92250, "text": "It was the bell, and nobody rang.", "speaker": "A"}]}`, "1.50-92.25 [A] It was the bell, and nobody rang.", j, 1},
		{"durations", `[{"start": "1.200s", "duration": 2, "text": "Bell."}]`, "1.20-3.20 Bell.", j, 0},
		{"speaker numbers", `[{"start": 1, "end": 2, "text": "Bell.", "speaker": 0}]`, "1-2 [Speaker 0] Bell.", j, 0},
		{"monologues", `{"speakers": [{"id": 1, "name": "Joss"}], "monologues": [{"speaker": 1, "elements": [{"type": "text", "value": "The", "ts": 1.0, "end_ts": 1.2}, {"type": "punct", "value": " "}, {"type": "text", "value": "bell", "ts": 1.3, "end_ts": 1.9}, {"type": "punct", "value": "."}]}]}`, "1-1.90 [Joss] The bell.", j, 0},
		{"alternatives", `{"results": [{"alternatives": [{"transcript": "The bell.", "words": [{"startTime": "1.200s", "endTime": "1.500s", "word": "The"}, {"startTime": "1.500s", "endTime": "2s", "word": "bell."}]}], "resultEndTime": "2.5s"}]}`, "1.20-2 The bell.", j, 0},
		{"chunks with pairs", `{"text": "x", "chunks": [{"timestamp": [0.0, 2.0], "text": " Bell."}, {"timestamp": [2.0, null], "text": " Ring."}]}`, "0-2 Bell.\n2-end… Ring.", j, 0},
		{"offsets", `{"transcription": [{"timestamps": {"from": "00:00:01,000", "to": "00:00:02,000"}, "offsets": {"from": 1000, "to": 2000}, "text": "Bell."}]}`, "1-2 Bell.", j, 0},
		{"items with punctuation", `{"results": {"transcripts": [{"transcript": "Bell. Ring"}], "items": [{"start_time": "1.0", "end_time": "1.5", "alternatives": [{"content": "Bell"}], "type": "pronunciation"}, {"alternatives": [{"content": "."}], "type": "punctuation"}, {"start_time": "4.0", "end_time": "4.5", "alternatives": [{"content": "Ring"}], "type": "pronunciation"}]}}`, "1-1.50 Bell.\n4-4.50 Ring", j, 0},
		{"words alone", `{"words": [{"word": "Bell", "start": 1, "end": 1.5, "speaker": "A"}, {"word": "Ring", "start": 1.6, "end": 2, "speaker": "B"}]}`, "1-1.50 [A] Bell\n1.60-2 [B] Ring", j, 0},
		{"segment without a time", `[{"start": 1, "end": 2, "text": "Bell."}, {"text": "Ring."}]`, "1-2 Bell.\n2-end… Ring.", j, 1},
		{"label in the text", `[{"start": 1, "end": 2, "text": "INES: Bell."}]`, "1-2 [INES] Bell.", j, 0},
		{"nested channels", `{"results": {"channels": [{"alternatives": [{"transcript": "bell", "words": [{"word": "bell", "punctuated_word": "Bell.", "start": 1, "end": 2}]}]}]}}`, "1-2 Bell.", j, 0},
		{"words of two speakers in one box", `{"channels": [{"alternatives": [{"transcript": "who rang nobody", "words": [{"word": "who", "punctuated_word": "Who", "start": 1, "end": 1.2, "speaker": 0}, {"word": "rang", "punctuated_word": "rang?", "start": 1.3, "end": 1.6, "speaker": 0}, {"word": "nobody", "punctuated_word": "Nobody.", "start": 1.7, "end": 2, "speaker": 1}]}]}]}`, "1-1.60 [Speaker 0] Who rang?\n1.70-2 [Speaker 1] Nobody.", j, 0},
		{"speakers beside the words", `{"results": {"transcripts": [{"transcript": "Who? Me."}], "speaker_labels": {"segments": [{"start_time": "1.0", "speaker_label": "spk_0", "items": [{"start_time": "1.0", "speaker_label": "spk_0"}, {"start_time": "1.4", "speaker_label": "spk_1"}]}]}, "items": [{"start_time": "1.0", "end_time": "1.2", "alternatives": [{"content": "Who"}], "type": "pronunciation"}, {"alternatives": [{"content": "?"}], "type": "punctuation"}, {"start_time": "1.4", "end_time": "1.6", "alternatives": [{"content": "Me"}], "type": "pronunciation"}, {"alternatives": [{"content": "."}], "type": "punctuation"}]}}`, "1-1.20 [spk_0] Who?\n1.40-1.60 [spk_1] Me.", j, 0},
	})
	t.Run("words", func(t *testing.T) {
		d, err := Read(strings.NewReader(`[{"start": 1, "end": 3, "text": "The bell.", "words": [{"word": " The", "start": 1, "end": 1.5}, {"word": " bell.", "start": 1.5, "end": 2.75}]}]`), ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, w := range d.Cues[0].Lines[0][0].Words {
			got = append(got, fmt.Sprint(w.Text, " ", short(w.In), " ", short(w.Out)))
		}
		if want := "The 1 1.50|bell. 1.50 2.75"; strings.Join(got, "|") != want {
			t.Errorf("got %s, want %s", strings.Join(got, "|"), want)
		}
	})
}

func TestReadCSV(t *testing.T) {
	c := CSV
	runReads(t, []readCase{
		{"commas", "in,out,speaker,text\n00:00:01.500,00:00:02,Ines,\"Bell, it\nwas.\"\n", "1.50-2 [Ines] Bell, it / [Ines] was.", c, 0},
		{"semicolons and labels", "Timecode In;Timecode Out;Name;Dialogue\r\n00:00:01:12;00:00:02:00;INES;Bell.\r\n", "1.48-2 [INES] Bell.", c, 0},
		{"tabs, start only", "Start\tText\n0:10\tOne.\n0:20\tTwo.\n", "10-20… One.\n20-end… Two.", c, 0},
		{"milliseconds", "start_ms,end_ms,text\n1500,2250,Bell.\n", "1.50-2.25 Bell.", c, 0},
		{"row without a time", "tc,text\n0:10,One.\n,two.\n", "10-end… One. / two.", c, 1},
		{"other columns", "tc,text,mood\n0:10,One.,dry\n", "10-end… One.", c, 1},
		{"decimal comma", "start;end;text\n1,5;2,25;Bell.\n", "1.50-2.25 Bell.", c, 0},
	})
}

func TestReadASS(t *testing.T) {
	const head = "[Script Info]\nTitle: The Far Bank\nScriptType: v4.00+\n\n[V4+ Styles]\nFormat: Name, PrimaryColour, Bold, Italic\nStyle: Thought,&H0000FFFF,0,-1\n\n[Events]\nFormat: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n"
	runReads(t, []readCase{
		{"name and commas", head + "Dialogue: 0,0:00:01.50,0:00:02.25,Default,Ines,0,0,0,,Bell, it\\Nwas {\\i1}me{\\i0}.", "1.50-2.25 [Ines] Bell, it / [Ines] was  [Ines] me [Ines] .", ASS, 0},
		// The defects that sources.md lists for go-astisub.
		{"comma in a name", head + "Dialogue: 0,0:00:01.50,0:00:02.25,Default,Corrigan, Ines,0,0,0,,Bell, it was.", "1.50-2.25 [Corrigan, Ines] Bell, it was.", ASS, 0},
		{"drawing is not text", head + "Dialogue: 0,0:00:01.50,0:00:02.25,Default,,0,0,0,,{\\p1}m 0 0 l 1 1{\\p0}Bell.", "1.50-2.25 Bell.", ASS, 0},
		{"no script info", "Dialogue: 0,0:00:01.50,0:00:02.25,Default,,0,0,0,,Bell.", "1.50-2.25 Bell.", ASS, 0},
		{"SSA version 4", "[Script Info]\nScriptType: v4.00\n\n[Events]\nFormat: Marked, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\nDialogue: Marked=0,0:00:01.50,0:00:02.25,*Default,Ines,0000,0000,0000,,Bell.", "1.50-2.25 [Ines] Bell.", ASS, 0},
	})
	t.Run("style", func(t *testing.T) {
		d, err := Read(strings.NewReader(head+"Dialogue: 0,0:00:01.50,0:00:02.25,Thought,,0,0,0,,Bell."), ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if got, want := d.Cues[0].Lines[0][0].Style, (Style{Italic: true, Colour: "#ffff00"}); got != want {
			t.Errorf("got %+v, want %+v", got, want)
		}
		if d.Title != "The Far Bank" {
			t.Errorf("got title %q", d.Title)
		}
	})
}

func TestReadTTML(t *testing.T) {
	doc := func(attrs, body string) string {
		return `<?xml version="1.0" encoding="UTF-8"?><tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter" xmlns:tts="http://www.w3.org/ns/ttml#styling" xmlns:ttm="http://www.w3.org/ns/ttml#metadata" xml:lang="en" ` + attrs + `><head><metadata><ttm:agent xml:id="a1" type="person"><ttm:name type="full">Ines Corrigan</ttm:name></ttm:agent></metadata></head><body>` + body + `</body></tt>`
	}
	p := func(timing string) string { return `<div><p ` + timing + `>Bell.</p></div>` }
	const ntsc = `ttp:frameRate="30" ttp:frameRateMultiplier="1000 1001"`
	runReads(t, []readCase{
		{"clock", doc("", p(`begin="00:00:01.5" end="00:00:02.25"`)), "1.50-2.25 Bell.", TTML, 0},
		{"frames", doc(`ttp:frameRate="25"`, p(`begin="00:00:01:12" end="00:00:02:00"`)), "1.48-2 Bell.", TTML, 0},
		{"frames by the caller's rate", doc("", p(`begin="00:00:01:12" end="00:00:02:00"`)), "1.48-2 Bell.", TTML, 0},
		{"multiplier, offset frames", doc(ntsc, p(`begin="30f" end="60f"`)), "1.001-2.002 Bell.", TTML, 0},
		{"multiplier, media clock", doc(ntsc, p(`begin="00:00:01:20" end="00:00:02"`)), fmt.Sprintf("%.3f-2 Bell.", 1+20*1001.0/30000), TTML, 0},
		{"SMPTE, hour of 29.97 NDF", doc(ntsc+` ttp:timeBase="smpte" ttp:dropMode="nonDrop"`, p(`begin="01:00:00:00" dur="1s"`)), "3603.60-3604.60 Bell.", TTML, 0},
		{"SMPTE, hour of 29.97 DF", doc(ntsc+` ttp:timeBase="smpte" ttp:dropMode="dropNTSC"`, p(`begin="01:00:00:00" dur="1s"`)), fmt.Sprintf("%.3f-%.3f Bell.", 107892*1001.0/30000, 1+107892*1001.0/30000), TTML, 0},
		{"ticks", doc(`ttp:tickRate="10000000"`, p(`begin="15000000t" end="22500000t"`)), "1.50-2.25 Bell.", TTML, 0},
		{"offsets", doc("", p(`begin="1500ms" end="0.5m"`)), "1.50-30 Bell.", TTML, 0},
		{"nesting", doc("", `<div begin="10s"><p begin="1s" dur="2s">Bell.</p><p begin="3s">Ring.</p></div>`), "11-13 Bell.\n13-end… Ring.", TTML, 0},
		{"end of the parent", doc("", `<div begin="10s" end="12s"><p begin="1s" end="9s">Bell.</p></div>`), "11-12 Bell.", TTML, 0},
		{"seq", doc("", `<div timeContainer="seq"><p dur="2s">Bell.</p><p dur="1s">Ring.</p></div>`), "0-2 Bell.\n2-3 Ring.", TTML, 0},
		{"times on spans", doc("", `<div><p begin="1s" end="5s"><span end="2s">Bell</span> <span begin="2s">rang.</span></p></div>`), "1-3 Bell\n3-5 rang.", TTML, 0},
		{"breaks and white space", doc("", "<div><p begin='1s' end='2s'>\n  It\n  was<br/>  the bell.\n</p></div>"), "1-2 It was / the bell.", TTML, 0},
		{"white space kept", doc("", `<div><p begin='1s' end='2s' xml:space="preserve">It  was</p></div>`), "1-2 It  was", TTML, 0},
		{"agent", doc("", `<div><p begin='1s' end='2s' ttm:agent="a1">Bell.</p></div>`), "1-2 [Ines Corrigan] Bell.", TTML, 0},
		{"no namespace", `<tt><body><div><p begin="1s" end="2s">Bell.</p></div></body></tt>`, "1-2 Bell.", TTML, 0},
		{"prefix", `<tt:tt xmlns:tt="http://www.w3.org/ns/ttml"><tt:body><tt:div><tt:p begin="1s" end="2s">Bell.</tt:p></tt:div></tt:body></tt:tt>`, "1-2 Bell.", TTML, 0},
	})
	t.Run("style", func(t *testing.T) {
		in := `<tt xmlns="http://www.w3.org/ns/ttml" xmlns:tts="http://www.w3.org/ns/ttml#styling"><head><styling><style xml:id="a" tts:color="yellow"/><style xml:id="b" style="a" tts:fontStyle="italic"/></styling></head><body><div style="b"><p begin="1s" end="2s"><span tts:fontStyle="normal" tts:fontWeight="bold">Be</span>ll</p></div></body></tt>`
		d, err := Read(strings.NewReader(in), ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		want := Line{{Text: "Be", Style: Style{Bold: true, Colour: "yellow"}}, {Text: "ll", Style: Style{Italic: true, Colour: "yellow"}}}
		if got := fmt.Sprint(d.Cues[0].Lines[0]); got != fmt.Sprint(want) {
			t.Errorf("got %v, want %v", got, want)
		}
	})
}

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
	t.Run("ASS in UTF-16", func(t *testing.T) { // a defect that sources.md lists
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

func TestWorksheet(t *testing.T) {
	entries := []WorksheetEntry{
		{"INES", timecode.Span{In: timecode.FromMillis(12_400), Out: timecode.FromMillis(20_080)}},
		{"", timecode.Span{In: timecode.FromMillis(21_000), Out: timecode.FromMillis(22_000)}},
		{"speaker 2", timecode.Span{In: timecode.FromMillis(30_000), Out: timecode.FromMillis(31_000)}},
	}
	start := 10 * timecode.Hour
	for _, clock := range []timecode.Clock{{Base: at25, Start: start}, {}} {
		var b bytes.Buffer
		if err := WriteWorksheet(&b, "D2-INT2", entries, clock); err != nil {
			t.Fatal(err)
		}
		if clock.Base.Rate.Known() && !strings.Contains(b.String(), "\n[10:00:12:10 - 10:00:20:02] INES: \n") {
			t.Errorf("got\n%s", b.String())
		}
		d, err := Read(strings.NewReader(b.String()), ReadOptions{Name: "x.txt"})
		if err != nil || len(d.Cues) != 0 || len(d.Repairs) != 0 || len(d.Comments) != 4 {
			t.Errorf("untouched: got %v, %v, %v, comments %q", err, d.Cues, d.Repairs, d.Comments)
		}
		typed := strings.Replace(b.String(), "INES: ", "INES: It was the bell.\nNobody rang: yes.", 1)
		typed = strings.Replace(typed, "speaker 2: ", "speaker 2: \nWho rang?", 1)
		d, err = Read(strings.NewReader(typed), ReadOptions{Name: "x.txt"})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, c := range d.Cues {
			got = append(got, fmt.Sprintf("%s-%s %s %s", c.In-clock.Start, c.Out-clock.Start, c.Speaker(), strings.ReplaceAll(c.Plain(), "\n", "/")))
		}
		want := []string{"00:00:12.400-00:00:20.080 INES It was the bell./Nobody rang: yes.", "00:00:30.000-00:00:31.000 speaker 2 Who rang?"}
		if !slices.Equal(got, want) || d.Labels != clock.Base.Rate.Known() {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// Source: the record of an Apollo flight (NASA, public domain): 10,876 timed
// and labelled lines over six days.
func TestLongTimedText(t *testing.T) {
	d, err := readFile(t, corpora(t, "long-timed-text", "apollo-13-tecatg.min.json"), ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if got := len(d.Cues); got != 10_876 {
		t.Errorf("got %d cues, want 10876", got)
	}
	if c := d.Cues[0]; c.In != 2*timecode.Second || c.Speaker() != "CDR" || c.Plain() != "The clock is running." {
		t.Errorf("got %v %q %q", c.In, c.Speaker(), c.Plain())
	}
	t.Logf("%d cues, %d repairs, last at %v", len(d.Cues), len(d.Repairs), d.Cues[len(d.Cues)-1].In)
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
