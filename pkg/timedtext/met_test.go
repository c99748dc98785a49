package timedtext

import (
	"strings"
	"testing"
)

// Labels and tables as they are met beside the usual ones. Common practice, no
// source.
func TestLabelsAndTablesAsMet(t *testing.T) {
	for _, c := range []struct{ name, file, want string }{
		{"French colon", "00:00:05 INÈS : Bonjour.\n00:00:09 JOSS\u00a0: Oui.", "INÈS: Bonjour. | JOSS: Oui."},
		{"East Asian colon", "00:00:05 イネス：鐘が鳴る。\n00:00:09 ジョス：はい。", "イネス: 鐘が鳴る。 | ジョス: はい。"},
		{"no label", "00:00:05 時間：十時。\n00:00:09 he said : no", "時間: 十時。 | : he said : no"},
		{"tabs", "00:00:05\tINES\tIt rang.\n00:00:09\tJOSS\tWho?", "INES: It rang. | JOSS: Who?"},
		{"bars", "00:00:05 | INES | It rang.\n00:00:09 | JOSS | Who?", "INES: It rang. | JOSS: Who?"},
		{"direction marks", "\u200f00:00:05 مرحبا.\n\u200f00:00:09 وداعا.", ": مرحبا. | : وداعا."},
		{"German header", "Anfang;Ende;Sprecher;Text\n0:01;0:02;Ines;Es läutet.\n", "Ines: Es läutet."},
		{"above the header", "exported\nin,out,speaker,text\n0:01,0:02,Ines,It rang.\n", "Ines: It rang."},
		{"no header", "00:00:01,00:00:02,Ines,It rang.\n00:00:03,00:00:04,Joss,Who?\n", "Ines: It rang. | Joss: Who?"},
		{"no header, no speaker", "00:00:01;00:00:02;It rang.\n", ": It rang."},
		{
			"in and out on two lines of a cell", "<!doctype html><html><body><table><tr><td>00:00:05<br>00:00:11</td><td>INES</td><td>It rang.</td></tr>" +
				"<tr><td>00:00:12<br>00:00:18</td><td>JOSS</td><td>Who rings it now, then?</td></tr></table></body></html>", "INES: It rang. | JOSS: Who rings it now, then?",
		},
		{
			"a name on top of the text", "<table><tr><td>00:00:05</td><td>INES<br>It rang.</td></tr><tr><td>00:00:09</td><td>JOSS<br>Who?</td></tr></table>",
			"INES: It rang. | JOSS: Who?",
		},
		{
			"a name on top that comes back", "00:00:05 Ines\nIt rang.\n00:00:09\nStill.\n00:00:12 Ines\nAnd on.\n", "Ines: It rang. | : Still. | Ines: And on.",
		},
		{
			"short texts beside names", "<table><tr><td>Ines</td><td>00:00:05</td><td>Hello.</td></tr><tr><td>Joss</td><td>00:00:09</td><td>Bye.</td></tr></table>",
			"Ines: Hello. | Joss: Bye.",
		},
		{"a web page in part", "<p>00:00:05 INES: It rang.</p>\n<p>00:00:09 JOSS: Who?</p>", "INES: It rang. | JOSS: Who?"},
		{"talk before the first time", "The Far Bank, day 2\n\nJOSS: Are we rolling?\nINES: Yes.\n[00:00:25] INES: It rang.", "JOSS: Are we rolling?/Yes. | INES: It rang."},
		{"a time in the middle", "INES: Hello and [00:00:05] then we left.", "INES: Hello and | INES: then we left."},
		{"a bad time", "in,out,speaker,text\n0:01,0:02,Ines,It rang.\nxx,yy,Joss,Who?\n0:05,,Ines,Nobody.\n", "Ines: It rang./Who? | Ines: Nobody."},
	} {
		d, err := Read(strings.NewReader(c.file), ReadOptions{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var got []string
		for _, cue := range d.Cues {
			got = append(got, cue.Speaker()+": "+strings.ReplaceAll(cue.Plain(), "\n", "/"))
		}
		if s := strings.Join(got, " | "); s != c.want {
			t.Errorf("%s: got %q, want %q", c.name, s, c.want)
		}
	}
}
