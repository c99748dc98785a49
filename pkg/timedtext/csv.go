package timedtext

import (
	"bufio"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"

	"golang.org/x/text/unicode/norm"

	"rushlight/pkg/timecode"
)

// Tables (CSV by RFC 4180; TSV and semicolons too) need a header row that
// names a column of text and one of times.

// column is what a column of a table holds.
type column int

const (
	colOther column = iota
	colIn
	colOut
	colLength
	colSpeaker
	colText
	colNote
	colID
)

// columnNames are the spellings of headers, without spaces and marks.
var columnNames = map[column][]string{
	colIn: {
		"in", "start", "starttime", "begin", "from", "timecode", "tc", "tcin", "timecodein", "time", "timestamp", "intime", "intc", "intimecode",
		"starttc", "starttimecode", "sourcein", "startseconds", "startsec", "starts", "begintime", "inpoint", "timein", "startms", "starttimems", "startmilliseconds", "inms",
		"anfang", "beginn", "von", "einstieg", "zeit", "zeitcode", "tcein", "tcanfang", "tcbeginn", "tcstart", "timecodeein",
		"debut", "entree", "tcentree", "tcdebut", "tcorigine", "inicio", "entrada", "tcentrada", "tcinicio", "inizio", "entrata", "tcinizio", "tcentrata", "da", "aanvang",
	},
	colOut: {
		"out", "end", "endtime", "to", "tcout", "timecodeout", "outtime", "outtc", "outtimecode", "endtc", "endtimecode", "sourceout", "stop", "finish",
		"endseconds", "endsec", "ends", "outpoint", "timeout", "endms", "endtimems", "endmilliseconds", "outms",
		"ende", "bis", "ausstieg", "tcaus", "tcende", "tcend", "timecodeaus", "fin", "sortie", "tcsortie", "tcfin", "fim", "salida", "saida", "tcsalida",
		"fine", "uscita", "tcfine", "tcuscita", "einde",
	},
	colLength: {"duration", "dur", "length", "durationms", "durationseconds", "dauer", "lange", "laenge", "duree", "duracion", "duracao", "durata", "duur"},
	colSpeaker: {
		"speaker", "name", "who", "person", "character", "role", "contributor", "voice", "speakername", "speakerlabel", "speakerid",
		"sprecher", "sprecherin", "rolle", "wer", "locuteur", "locutrice", "intervenant", "intervenante", "personne", "personnage", "nom", "qui",
		"hablante", "persona", "personaje", "nombre", "quien", "parlante", "personaggio", "nome", "chi", "spreker", "falante", "orador",
	},
	colText: {
		"text", "transcript", "transcription", "content", "dialogue", "dialog", "quote", "words", "caption", "subtitle", "line", "sentence", "utterance", "speech", "said",
		"whatwassaid", "gesagt", "gesagtes", "oton", "originalton", "transkript", "transkription", "aussage", "inhalt", "zitat",
		"texte", "paroles", "propos", "contenu", "dialogues", "texto", "dialogo", "dialogos", "contenido", "transcripcion",
		"testo", "battuta", "battute", "parlato", "contenuto", "trascrizione", "tekst",
	},
	colNote: {
		"note", "notes", "comment", "comments", "remark", "remarks", "bemerkung", "bemerkungen", "anmerkung", "anmerkungen", "notiz", "notizen", "kommentar",
		"remarque", "remarques", "commentaire", "commentaires", "nota", "notas", "observacion", "observaciones", "comentario", "comentarios", "osservazioni", "commento", "commenti",
	},
	colID: {"id", "number", "no", "nr", "index", "cue", "lfdnr", "nummer", "numero", "num"},
}

// plainName is a header without case, spaces and marks, those on letters too.
func plainName(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return -1
	}, norm.NFD.String(s))
}

// columns tells what each header names; good needs a text and an in. Of two
// headers for one thing, the name that the list has first rules.
func columns(header []string) (cols []column, good bool) {
	cols = make([]column, len(header))
	var at, rank [colID + 1]int
	for i, h := range header {
		name := plainName(h)
		for c := colIn; c <= colID; c++ {
			r := slices.Index(columnNames[c], name) + 1
			if r == 0 {
				continue
			}
			if rank[c] == 0 || r < rank[c] {
				if rank[c] > 0 {
					cols[at[c]] = colOther
				}
				cols[i], at[c], rank[c] = c, i, r
			}
			break
		}
	}
	return cols, rank[colIn] > 0 && rank[colText] > 0
}

// isTable tells whether one of the first lines is the header of a table, or the
// first a row of one without.
func isTable(text string) bool {
	for i, line := range strings.SplitN(text, "\n", preamble+2) {
		line = strings.TrimRight(line, "\r")
		if _, ok := separator(line); ok || i == 0 && headless(line) != nil {
			return true
		}
		if i == preamble {
			break
		}
	}
	return false
}

// separator finds the separator with which line is a header.
func separator(line string) (rune, bool) {
	for _, sep := range []rune{'\t', ';', ',', '|'} {
		if !strings.ContainsRune(line, sep) {
			continue
		}
		r := csv.NewReader(strings.NewReader(line))
		r.Comma, r.LazyQuotes = sep, true
		if header, err := r.Read(); err == nil {
			if _, ok := columns(header); ok {
				return sep, true
			}
		}
	}
	return ',', false
}

// preamble is how many lines above a header may hold something else.
const preamble = 5

// skipPreamble finds the header among the first lines, and leaves the reader
// there; what stands above it is kept as comments. first is the header, or the
// first line where none is found.
func (rd *reader) skipPreamble(br *bufio.Reader, head string) (first string, sep rune, ok bool) {
	lines := strings.SplitAfterN(strings.TrimLeft(head, "\r\n"), "\n", preamble+2)
	skip := len(head) - len(strings.TrimLeft(head, "\r\n"))
	first = strings.TrimRight(lines[0], "\r\n")
	for i, l := range lines[:min(len(lines), preamble+1)] {
		if sep, ok = separator(strings.TrimRight(l, "\r\n")); !ok {
			skip += len(l)
			continue
		}
		if _, err := br.Discard(skip); err != nil {
			return first, sep, false
		}
		for n, above := range lines[:i] {
			if !blank(above) {
				rd.repair(n+1, "text above the header row: kept as a comment")
				rd.doc.Comments = append(rd.doc.Comments, strings.TrimSpace(above))
			}
		}
		return strings.TrimRight(l, "\r\n"), sep, true
	}
	return first, ',', false
}

// firstTimes splits a row that begins with one time or two.
func firstTimes(line string) (fields []string, sep rune, ok bool) {
	for _, sep := range []rune{';', ',', '|'} { // tabs make columns of plain text
		r := csv.NewReader(strings.NewReader(line))
		r.Comma, r.LazyQuotes = sep, true
		fields, err := r.Read()
		if err != nil || len(fields) < 2 {
			continue
		}
		if _, rest, ok := times(strings.TrimSpace(fields[0]), false); ok && blank(rest) {
			return fields, sep, true
		}
	}
	return nil, ',', false
}

// headless names the columns of a table without a header whose first row has
// an in, an out, and one field or two; nil for anything else.
func headless(line string) []string {
	fields, _, ok := firstTimes(line)
	if !ok || len(fields) < 3 || len(fields) > 4 {
		return nil
	}
	if _, rest, ok := times(strings.TrimSpace(fields[1]), false); !ok || !blank(rest) {
		return nil
	}
	if len(fields) == 3 {
		return []string{"in", "out", "text"}
	}
	return []string{"in", "out", "speaker", "text"}
}

type csvReader struct {
	*reader
	cols   []column
	header []string
	// millis tells for each column that its numbers are milliseconds.
	millis []bool
}

func (rd *reader) readCSV(r io.Reader) error {
	in, sep, shape, err := rd.openTable(bufio.NewReaderSize(r, headSize))
	if err != nil {
		return err
	}
	table := csv.NewReader(rd.closeQuotes(in, sep, shape))
	table.Comma, table.LazyQuotes, table.FieldsPerRecord, table.ReuseRecord = sep, true, -1, true
	c := &csvReader{reader: rd}
	for {
		row, err := table.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			var pe *csv.ParseError
			if errors.As(err, &pe) {
				return rd.fail(pe.Line, "correct the quotation marks of the row", "row not understood: %v", pe.Err)
			}
			return err
		}
		line, _ := table.FieldPos(0)
		if c.cols == nil {
			names, err := c.names(row, shape, line)
			if err != nil {
				return err
			}
			c.begin(names, line)
			continue
		}
		if err := c.row(row, line); err != nil {
			return err
		}
	}
}

func (c *csvReader) begin(row []string, line int) {
	c.header = slices.Clone(row)
	c.cols, _ = columns(row)
	var other []string
	for i, col := range c.cols {
		name := plainName(row[i])
		c.millis = append(c.millis, strings.HasSuffix(name, "ms") || strings.HasSuffix(name, "milliseconds"))
		if col == colOther && name != "" {
			other = append(other, strings.TrimSpace(row[i]))
		}
	}
	if len(other) > 0 {
		c.repair(line, "columns kept as settings only: %s", strings.Join(other, ", "))
	}
}

func (c *csvReader) cell(i int, s string, line int) (timecode.Ticks, error) {
	if c.millis[i] {
		if t, ok := scaled(s, int64(timecode.Millisecond), 1); ok {
			return t, nil
		}
	}
	return c.time(s, line)
}

func (c *csvReader) row(row []string, line int) error {
	cue := Cue{Span: timecode.Span{Out: NoTime}, OpenEnd: true, Line: line}
	var text, speaker string
	var length timecode.Ticks
	timed := false
	for i, v := range row {
		v = strings.TrimSpace(v)
		if i >= len(c.cols) {
			if v != "" {
				c.repair(line, "more fields than the header names: %s is left out", quoteShort(v))
			}
			continue
		}
		if v == "" {
			continue
		}
		var err error
		switch c.cols[i] {
		case colIn:
			cue.In, err = c.cell(i, v, line)
			timed = true
		case colOut:
			cue.Out, err = c.cell(i, v, line)
			cue.OpenEnd = false
		case colLength:
			length, err = c.cell(i, v, line)
		case colSpeaker:
			speaker = v
		case colText:
			text = strings.ReplaceAll(strings.ReplaceAll(row[i], "\r\n", "\n"), "\r", "\n")
		case colNote:
			c.doc.Comments = append(c.doc.Comments, v)
		case colID:
			cue.ID = v
		default:
			cue.set(c.header[i], v)
		}
		if err != nil {
			if strings.Contains(err.Error(), "frame rate") {
				return err
			}
			c.repair(line, "time not understood and left out: got %s", quoteShort(v))
			switch c.cols[i] {
			case colIn:
				timed = false
			case colOut:
				cue.Out, cue.OpenEnd = NoTime, true
			}
		}
	}
	if blank(text) {
		return nil
	}
	if cue.OpenEnd && length > 0 {
		cue.Out, cue.OpenEnd = cue.In+length, false
	}
	lines := Text(strings.Split(strings.TrimSpace(text), "\n")...)
	for _, l := range lines {
		l[0].Speaker = speaker
	}
	if !timed {
		return c.untimed(lines, text, line)
	}
	cue.Lines = lines
	c.doc.Cues = append(c.doc.Cues, cue)
	return nil
}

// untimed adds a row without a time to the cue before.
func (c *csvReader) untimed(lines []Line, text string, line int) error {
	if n := len(c.doc.Cues); n > 0 {
		c.repair(line, "row without a time: its text is added to the cue before")
		c.doc.Cues[n-1].Lines = append(c.doc.Cues[n-1].Lines, lines...)
		return nil
	}
	c.repair(line, "text before the first time: kept as a comment")
	c.doc.Comments = append(c.doc.Comments, strings.TrimSpace(text))
	return nil
}
