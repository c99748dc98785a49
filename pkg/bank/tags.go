package bank

import (
	"context"
	"fmt"
	"slices"

	"rushlight/pkg/story"
)

// Tag puts themes on a quote by hand and takes themes off it; story.Strong is
// one of them. A theme that is on already, or off, stays so; but one that a
// rule set becomes set by hand, and putting one on lifts a refusal. Taking off
// what a rule set refuses it, so that the rule doesn't set it again. The first
// spelling of a theme stays its name. changed tells whether anything did.
// ErrNotFound if the quote isn't there, story.ErrInvalid for a name that can't
// be a theme.
func (tx *Tx) Tag(code story.Code, add, off []string) (changed bool, err error) {
	if err := tx.there(code); err != nil {
		return false, err
	}
	for _, name := range off {
		did, err := tx.tagOff(string(code), themeKey(name))
		if err != nil {
			return false, err
		}
		changed = changed || did
	}
	did, err := tx.TagBy(code, add, story.ByHand)
	return changed || did, err
}

// TagBy puts themes on a quote as Tag does, and says whether by hand or by
// rule. What was refused for the quote, a rule doesn't put there.
func (tx *Tx) TagBy(code story.Code, add []string, by story.TaggedBy) (changed bool, err error) {
	if err := by.Valid(); err != nil {
		return false, err
	}
	if err := tx.there(code); err != nil {
		return false, err
	}
	for _, name := range add {
		key, err := tx.theme(name)
		if err != nil {
			return false, err
		}
		did, err := tx.tagOn(string(code), key, by)
		if err != nil {
			return false, err
		}
		changed = changed || did
	}
	return changed, nil
}

// tagOn puts a theme on a quote that is there. What is on already keeps who
// set it, unless a hand confirms what a rule set.
func (tx *Tx) tagOn(code, theme string, by story.TaggedBy) (bool, error) {
	row := rowKey(code, theme)
	had, on, err := tx.tagRow(row)
	if err != nil || on && (by == story.ByRule || had.by == story.ByHand) {
		return false, err
	}
	if by == story.ByRule {
		if refused, err := tx.has(tableRefusal, row); err != nil || refused {
			return false, err
		}
	}
	if _, err := tx.del(tableRefusal, row); err != nil {
		return false, err
	}
	return tx.put(tableTag, row, tx.who, moment(tx.moment()), string(by))
}

// tagOff takes a theme off a quote; if a rule had set it, for good.
func (tx *Tx) tagOff(code, theme string) (bool, error) {
	row := rowKey(code, theme)
	had, on, err := tx.tagRow(row)
	if err != nil || !on {
		return false, err
	}
	if had.by == story.ByRule {
		if _, err := tx.refuse(row); err != nil {
			return false, err
		}
	}
	return tx.del(tableTag, row)
}

// tagged is who set a tag, when and how.
type tagged struct {
	who, at string
	by      story.TaggedBy
}

// tagRow reads a tag; on tells whether it is there.
func (tx *Tx) tagRow(row string) (t tagged, on bool, err error) {
	vals, err := tx.values(tableTag, row)
	if err != nil || vals == nil {
		return t, false, err
	}
	t.who, _ = vals[0].(string)
	t.at, _ = vals[1].(string)
	how, _ := vals[2].(string)
	t.by = story.TaggedBy(how)
	return t, true, nil
}

// moveTag makes a quote carry another theme instead, set by whom the old one
// was; unless it carries that already.
func (tx *Tx) moveTag(code, from, to string) error {
	t, on, err := tx.tagRow(rowKey(code, from))
	if err != nil || !on {
		return err
	}
	there, err := tx.has(tableTag, rowKey(code, to))
	if err != nil {
		return err
	}
	if !there {
		if _, err := tx.del(tableRefusal, rowKey(code, to)); err != nil {
			return err
		}
		if _, err := tx.put(tableTag, rowKey(code, to), t.who, t.at, string(t.by)); err != nil {
			return err
		}
	}
	_, err = tx.del(tableTag, rowKey(code, from))
	return err
}

// Tags lists the themes of a quote in alphabetical order, story.Strong among
// them, with who set each, when and how. Who and When are empty for what an
// older program set and its journal doesn't tell of. ErrNotFound if the quote
// isn't there.
func (b *Bank) Tags(ctx context.Context, code story.Code) ([]story.Tagging, error) {
	var list []story.Tagging
	err := b.read(ctx, func(v view) error {
		if _, err := v.quote(ctx, code); err != nil {
			return err
		}
		return v.each(ctx, `SELECT t.name, g.who, g.at, g.how FROM tag AS g JOIN theme AS t ON t.key = g.theme
			WHERE g.code = ? ORDER BY t.key`, []any{code}, func(scan func(...any) error) error {
			var t story.Tagging
			var at string
			err := scan(&t.Theme, &t.Who, &at, &t.By)
			if err == nil {
				t.When, err = readMoment(at)
			}
			list = append(list, t)
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("read the tags of %s: %w", code, err)
	}
	return list, nil
}

// setTags makes the themes of a quote these; had holds the keys of those it
// has. What stays keeps who set it; what is new is set by hand.
func (tx *Tx) setTags(code story.Code, names, had []string) (changed bool, err error) {
	want := make(map[string]bool, len(names))
	for _, name := range names {
		key, err := tx.theme(name)
		if err != nil {
			return false, err
		}
		want[key] = true
	}
	for _, key := range had {
		if want[key] {
			continue
		}
		did, err := tx.del(tableTag, rowKey(string(code), key))
		if err != nil {
			return false, err
		}
		changed = changed || did
	}
	for key := range want {
		if slices.Contains(had, key) {
			continue
		}
		did, err := tx.tagOn(string(code), key, story.ByHand)
		if err != nil {
			return false, err
		}
		changed = changed || did
	}
	return changed, nil
}

// theme makes sure that a theme is known and gives its key.
func (tx *Tx) theme(name string) (string, error) {
	name, err := story.ThemeName(name)
	if err != nil {
		return "", err
	}
	key := themeKey(name)
	if key == story.Strong {
		name = story.Strong
	}
	ok, err := tx.has(tableTheme, key)
	if err != nil || ok {
		return key, err
	}
	_, err = tx.put(tableTheme, key, name)
	return key, err
}

// Rate gives a quote a rating of 1 to 5, or with 0 takes it off.
func (tx *Tx) Rate(code story.Code, n int) (changed bool, err error) {
	q, err := tx.Quote(code)
	if err != nil {
		return false, err
	}
	return tx.putMark(code, n, q.Note)
}

// Note gives a quote a note, or with "" takes it off.
func (tx *Tx) Note(code story.Code, text string) (changed bool, err error) {
	q, err := tx.Quote(code)
	if err != nil {
		return false, err
	}
	return tx.putMark(code, q.Rating, text)
}

// putMark stores rating and note; a quote without either has no row.
func (tx *Tx) putMark(code story.Code, rating int, note string) (bool, error) {
	if err := story.ValidRating(rating); err != nil {
		return false, fmt.Errorf("quote %s: %w", code, err)
	}
	if rating == 0 && note == "" {
		return tx.del(tableMark, string(code))
	}
	return tx.put(tableMark, string(code), rating, note)
}
