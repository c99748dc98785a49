package timedtext

import (
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
		{"decimal comma", "start;end;text\n1,5;2,25;Bell.\n", "1.50-2.25 Bell.", c, 0},
	})
}
