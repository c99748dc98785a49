package bank

import (
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
)

// quoteRow is a quote as its table holds it.
type quoteRow struct {
	code, reel     string
	ord            int64
	speaker        string
	in, out        int64
	text, language string
	words          []byte
	inBy, outBy    string
}

func (tx *Tx) putQuoteRow(r quoteRow) error {
	_, err := tx.put(tableQuote, r.code, r.values()...)
	return err
}

func (r quoteRow) values() []any {
	return []any{r.reel, r.ord, r.speaker, r.in, r.out, r.text, r.language, r.words, r.inBy, r.outBy}
}

// quoteRows reads the quotes that a condition picks, in order, ahead of their
// change.
func (tx *Tx) quoteRows(where string, args ...any) ([]quoteRow, error) {
	var list []quoteRow
	err := tx.view.each(tx.ctx, "SELECT code,"+strings.Join(tableQuote.cols, ",")+" FROM quote WHERE "+where, args,
		func(scan func(...any) error) error {
			var r quoteRow
			if err := scan(&r.code, &r.reel, &r.ord, &r.speaker, &r.in, &r.out, &r.text, &r.language,
				&r.words, &r.inBy, &r.outBy); err != nil {
				return err
			}
			list = append(list, r)
			return tx.sawAhead(tableQuote, r.code, r.values())
		})
	return list, err
}

// marksAhead reads all that people said of some quotes ahead of its change,
// and gives the keys of each quote's themes.
func (tx *Tx) marksAhead(codes []string) (map[string][]string, error) {
	if err := tx.lookAhead(tableMark, codes); err != nil {
		return nil, err
	}
	themes := map[string][]string{}
	err := tx.view.each(tx.ctx, "SELECT code, theme, who, at, how FROM tag WHERE code IN ("+marks(len(codes))+")", textArgs(codes),
		func(scan func(...any) error) error {
			var code, theme, who, at, how string
			if err := scan(&code, &theme, &who, &at, &how); err != nil {
				return err
			}
			themes[code] = append(themes[code], theme)
			return tx.sawAhead(tableTag, rowKey(code, theme), []any{who, at, how})
		})
	return themes, err
}

// each runs a query with one argument and hands its rows on.
func (tx *Tx) each(query string, arg any, f func(scan func(...any) error) error) error {
	return tx.view.each(tx.ctx, query, []any{arg}, f)
}

// PutQuotes makes the quotes of a reel these, in this order: what has a code
// that is there is changed, the rest is new, and quotes that are not among
// them are gone; their codes are never used for another quote. Themes, rating
// and note become those of the given quotes. Reel, Day, Clock and Order of the
// given quotes don't count: they follow from the recording and the order.
// ErrNotFound if there is no such reel; story.ErrInvalid for a quote without
// code, with a code twice or that of another reel, an out before its in, a
// rating or a theme name that can't be.
func (tx *Tx) PutQuotes(reel string, quotes []story.Quote) error {
	key, err := tx.reel(reel)
	if err != nil {
		return err
	}
	seen := make(map[story.Code]bool, len(quotes))
	for _, q := range quotes {
		switch {
		case q.Code == "" || strings.Contains(string(q.Code), keySep):
			return fmt.Errorf("reel %s: quote %q %w: its code is %q", reel, q.Text, story.ErrInvalid, q.Code)
		case seen[q.Code]:
			return fmt.Errorf("reel %s: quote %s %w: the code stands there twice", reel, q.Code, story.ErrInvalid)
		case q.Out < q.In:
			return fmt.Errorf("reel %s: quote %s %w: out %s before in %s", reel, q.Code, story.ErrInvalid, q.Out, q.In)
		}
		seen[q.Code] = true
	}
	return tx.putQuotes(key, quotes)
}

func (tx *Tx) putQuotes(key string, quotes []story.Quote) error {
	gone, err := tx.texts("SELECT code FROM quote WHERE reel = ? ORDER BY ord", key)
	if err != nil {
		return err
	}
	keep := make(map[string]bool, len(quotes))
	for _, q := range quotes {
		keep[string(q.Code)] = true
	}
	gone = slices.DeleteFunc(gone, func(code string) bool { return keep[code] })
	for part := range slices.Chunk(gone, codeBatch) {
		if err := tx.retireAll(part); err != nil {
			return err
		}
	}
	ord := 0
	for part := range slices.Chunk(quotes, codeBatch) {
		if err := tx.putSome(key, ord, part); err != nil {
			return err
		}
		ord += len(part)
	}
	return nil
}

// putSome stores some quotes of a reel, which are read together before. first
// is the place of the first one.
func (tx *Tx) putSome(key string, first int, quotes []story.Quote) error {
	defer clear(tx.ahead)
	codes := make([]string, len(quotes))
	for i, q := range quotes {
		codes[i] = string(q.Code)
	}
	for _, t := range []*table{tableQuote, tableRetired} {
		if err := tx.lookAhead(t, codes); err != nil {
			return err
		}
	}
	themes, err := tx.marksAhead(codes)
	if err != nil {
		return err
	}
	for i, q := range quotes {
		if err := tx.putQuote(key, first+i, q, themes[string(q.Code)]); err != nil {
			return err
		}
	}
	return nil
}

// putQuote stores one quote of a reel with all that people said of it.
func (tx *Tx) putQuote(key string, ord int, q story.Quote, themes []string) error {
	code := string(q.Code)
	vals, err := tx.values(tableQuote, code)
	if err != nil {
		return err
	}
	if vals == nil {
		// A code that comes back is no longer retired.
		if _, err := tx.del(tableRetired, code); err != nil {
			return err
		}
	} else if vals[0] != key {
		return fmt.Errorf("quote %s %w: the code is that of a quote of reel %s", code, story.ErrInvalid, vals[0])
	}
	err = tx.putQuoteRow(quoteRow{
		code: code, reel: key, ord: int64(ord), speaker: q.Speaker, in: int64(q.In), out: int64(q.Out),
		text: q.Text, language: q.Language, words: packWords(q.Words), inBy: string(q.InBy), outBy: string(q.OutBy),
	})
	if err != nil {
		return err
	}
	if _, err := tx.putMark(q.Code, q.Rating, q.Note); err != nil {
		return err
	}
	if _, err := tx.setTags(q.Code, q.Themes, themes); err != nil {
		return fmt.Errorf("quote %s: %w", code, err)
	}
	return nil
}

// retireAll takes quotes out and keeps how they were last.
func (tx *Tx) retireAll(codes []string) error {
	defer clear(tx.ahead)
	rows, err := tx.quoteRows("code IN ("+marks(len(codes))+")", textArgs(codes)...)
	if err != nil {
		return err
	}
	themes, err := tx.marksAhead(codes)
	if err != nil {
		return err
	}
	for _, r := range rows {
		if err := tx.retire(r, themes[r.code]); err != nil {
			return err
		}
	}
	return nil
}

// retire takes a quote out and keeps how it was last.
func (tx *Tx) retire(r quoteRow, themes []string) error {
	for _, t := range themes {
		if _, err := tx.del(tableTag, rowKey(r.code, t)); err != nil {
			return err
		}
	}
	refused, err := tx.texts("SELECT theme FROM refusal WHERE code = ?", r.code)
	if err != nil {
		return err
	}
	for _, t := range refused {
		if _, err := tx.del(tableRefusal, rowKey(r.code, t)); err != nil {
			return err
		}
	}
	for _, t := range []*table{tableMark, tableQuote} {
		if _, err := tx.del(t, r.code); err != nil {
			return err
		}
	}
	info, err := tx.view.reelInfo(tx.ctx, r.reel)
	if err != nil {
		return err
	}
	vals := append(append([]any{info.reel}, clockColumns(info.clock)...), r.speaker, r.in, r.out, r.text)
	_, err = tx.put(tableRetired, r.code, vals...)
	return err
}

// there is ErrNotFound if a quote isn't.
func (tx *Tx) there(code story.Code) error {
	ok, err := tx.has(tableQuote, string(code))
	if err == nil && !ok {
		err = missing([]story.Code{code}, func(story.Code) bool { return false })
	}
	return err
}
