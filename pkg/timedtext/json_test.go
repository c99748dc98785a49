package timedtext

import (
	"fmt"
	"strings"
	"testing"

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
		{"speakers beside the words", `{"results": {"transcripts": [{"transcript": "Who? Me."}], "speaker_labels": {"segments": [{"start_time": "1.0", "speaker_label": "S0", "items": [{"start_time": "1.0", "speaker_label": "S0"}, {"start_time": "1.4", "speaker_label": "S1"}]}]}, "items": [{"start_time": "1.0", "end_time": "1.2", "alternatives": [{"content": "Who"}], "type": "pronunciation"}, {"alternatives": [{"content": "?"}], "type": "punctuation"}, {"start_time": "1.4", "end_time": "1.6", "alternatives": [{"content": "Me"}], "type": "pronunciation"}, {"alternatives": [{"content": "."}], "type": "punctuation"}]}}`, "1-1.20 [S0] Who?\n1.40-1.60 [S1] Me.", j, 0},
	})
	lines := `{"start": 1, "end": 2, "text": "Bell.", "spk": "Ines"}` + "\n" + `{"start": 3, "end": 4, "text": "Ring.", "spk": 1}` + "\n"
	runReads(t, []readCase{
		{"JSON Lines", lines, "1-2 [Ines] Bell.\n3-4 [Speaker 1] Ring.", j, 0},
		{"one line of JSON Lines", `{"start": 1, "end": 2, "text": "Bell."}`, "1-2 Bell.", j, 0},
		{"a line that is no JSON", lines + `{"start": 5, "end` + "\n" + `{"start": 6, "end": 7, "text": "Rope."}` + "\n", "1-2 [Ines] Bell.\n3-4 [Speaker 1] Ring.\n6-7 Rope.", j, 1},
		{"the last line cut off", lines + `{"start": 5, "end": 6, "te`, "1-2 [Ines] Bell.\n3-4 [Speaker 1] Ring.", j, 1},
		{"results one after the other", `{"result": [{"conf": 1, "start": 1, "end": 1.5, "word": "bell"}], "text": "bell"}` + "\n" + `{"result": [{"conf": 1, "start": 3, "end": 3.5, "word": "ring"}], "text": "ring"}`, "1-1.50 bell\n3-3.50 ring", j, 0},
	})
	t.Run("JSON Lines of another kind", func(t *testing.T) {
		d, err := Read(strings.NewReader(lines+strings.Repeat("nothing\n", 100)), ReadOptions{})
		if err != nil || len(d.Cues) != 2 || len(d.Repairs) != mostOdd+1 || d.Repairs[0].Line != 3 || d.Repairs[1].Line != 4 {
			t.Errorf("got %v, %v", d, err)
		}
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
