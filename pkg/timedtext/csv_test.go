package timedtext

import (
	"errors"
	"strings"
	"testing"
)

func TestReadCSV(t *testing.T) {
	c := CSV
	runReads(t, []readCase{
		{"commas", "in,out,speaker,text\n00:00:01.500,00:00:02,Ines,\"Bell, it\nwas.\"\n", "1.50-2 [Ines] Bell, it / [Ines] was.", c, 0},
		{"semicolons and labels", "Timecode In;Timecode Out;Name;Dialogue\r\n00:00:01:12;00:00:02:00;INES;Bell.\r\n", "1.48-2 [INES] Bell.", c, 0},
		{"tabs, start only", "Start\tText\n0:10\tOne.\n0:20\tTwo.\n", "10-20… One.\n20-end… Two.", c, 0},
		{"milliseconds", "start_ms,end_ms,text\n1500,2250,Bell.\n", "1.50-2.25 Bell.", c, 0},
		{"row without a time", "tc,text\n0:10,One.\n,two.\n", "10-end… One. / two.", c, 1},
		{"other columns", "tc,text,mood\n0:10,One.,dry\n", "10-end… One.", c, 1},
		{"a quotation mark left open", "in,out,speaker,text\n0:01,0:02,Ines,\"It rang.\n0:03,0:04,Joss,Who?\n0:05,0:06,Ines,\"Nobody, \"\"really\"\",\nat all.\"\n", "1-2 [Ines] It rang.\n3-4 [Joss] Who?\n5-6 [Ines] Nobody, \"really\", / [Ines] at all.", c, 1},
		{"a quotation mark left open, seconds", "start;end;text\n1;2;\"It rang.\n3.5;4;Who?\n", "1-2 It rang.\n3.50-4 Who?", c, 1},
		{"decimal comma", "start;end;text\n1,5;2,25;Bell.\n", "1.50-2.25 Bell.", c, 0},
	})
}

// Names of columns as shot lists and transcripts in five languages have them:
// common practice, no source.
func TestReadCSVNames(t *testing.T) {
	c := CSV
	runReads(t, []readCase{
		{
			"German", "Nr;TC ein;TC aus;Person;O-Ton;Bemerkung\n1;00:00:01:00;00:00:03:10;Ines;\"Ja; so war das.\";gut\n2;00:00:05:00;00:00:07:00;Joss;Wirklich?;\n",
			"1-3.40 [Ines] Ja; so war das.\n5-7 [Joss] Wirklich?", c, 0,
		},
		{"German, summary and words", "Zeit\tInhalt\tO-Ton\n0:10\tFähre legt an\tDie Glocke.\n", "10-end… Die Glocke.", c, 1},
		{"French", "TC début;TC fin;Intervenant;Texte\n00:00:01:00;00:00:02:00;Ines;La cloche.\n", "1-2 [Ines] La cloche.", c, 0},
		{"French, in and out", "Entrée;Sortie;Personnage;Dialogue\n00:00:01:00;00:00:02:00;Ines;La cloche.\n", "1-2 [Ines] La cloche.", c, 0},
		{"Spanish", "Entrada,Salida,Persona,Diálogo\n00:00:01.000,00:00:02.000,Ines,La campana.\n", "1-2 [Ines] La campana.", c, 0},
		{"Italian", "Inizio;Durata;Personaggio;Battuta;Osservazioni\n00:00:01.000;00:00:02.000;Ines;La campana.;\n", "1-3 [Ines] La campana.", c, 0},
		{
			"told by content", "Kezdet|Vége|Szöveg|Speaker\n00:00:01.000|00:00:02.000|A harang szól.|Ines\n00:00:03.000|00:00:04.000|Megint szól.|Ines\n",
			"1-2 [Ines] A harang szól.\n3-4 [Ines] Megint szól.", c, 1,
		},
		{
			"out told by content", "Timecode,Slut,Text\n00:00:01.000,00:00:02.000,Klockan.\n00:00:03.000,00:00:04.000,Igen.\n",
			"1-2 Klockan.\n3-4 Igen.", c, 1,
		},
		{
			"a second clock is no out", "Record TC,Timecode,Text\n01:00:01:00,10:00:02:00,Bell.\n01:00:02:00,10:00:03:00,Again.\n",
			"36002-36003… Bell.\n36003-end… Again.", c, 1,
		},
	})
}

// A file that is called a table and has as many fields in each line is read as
// one or not at all.
func TestReadCSVNamed(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"t.tsv", "00:01\tJ\tHello (0:02) there.\n00:05\tI\tYes.\n", "1-5… [J] Hello (0:02) there.\n5-end… [I] Yes."},
		{"t.csv", "1;00:00:01:00;00:00:02:00;Ines;Bell.\n2;00:00:03:00;00:00:04:00;Ines;Again.\n", "1-2 [Ines] Bell.\n3-4 [Ines] Again."},
		{"t.csv", "[00:01] Not a table.\n\n[00:05] Text, all the same.\n", "1-5… Not a table.\n5-end… Text, all the same."},
	} {
		d, err := Read(strings.NewReader(c.in), ReadOptions{Name: c.name, Base: at25})
		if err != nil {
			t.Errorf("%q: %v", c.in, err)
		} else if got := told(d); got != c.want {
			t.Errorf("%q: got\n%s\nwant\n%s", c.in, got, c.want)
		}
	}
	for _, in := range []string{
		"Scene;Clip;Timecode;Who knows;Whatever\n1;A001;00:00:01:00;x y;z z\n2;A002;00:00:05:00;x y;z z\n",
		"Clip,Comes at\nA001,00:00:01:00\nA002,00:00:05:00\n",
	} {
		_, err := Read(strings.NewReader(in), ReadOptions{Name: "t.csv", Base: at25})
		var p *ParseError
		if !errors.As(err, &p) || !strings.Contains(p.Problem, `"Clip", "`) || !strings.Contains(p.Hint, "in or start or starttime") {
			t.Errorf("%q: got %v, want the columns found and the names known", in, err)
		}
	}
}
