package bank

import (
	"fmt"

	"rushlight/pkg/story"
)

// Tag puts themes on a quote and takes themes off it; story.Strong is one of
// them. A theme that is on already, or off, stays so. The first spelling of a
// theme stays its name. changed tells whether anything did. ErrNotFound if
// the quote isn't there, story.ErrInvalid for a name that can't be a theme.
func (tx *Tx) Tag(code story.Code, add, off []string) (changed bool, err error) {
	if err := tx.there(code); err != nil {
		return false, err
	}
	for _, name := range off {
		did, err := tx.del(tableTag, rowKey(string(code), themeKey(name)))
		if err != nil {
			return false, err
		}
		changed = changed || did
	}
	for _, name := range add {
		key, err := tx.theme(name)
		if err != nil {
			return false, err
		}
		did, err := tx.put(tableTag, rowKey(string(code), key))
		if err != nil {
			return false, err
		}
		changed = changed || did
	}
	return changed, nil
}

// setTags makes the themes of a quote these; had holds the keys of those it
// has.
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
		did, err := tx.put(tableTag, rowKey(string(code), key))
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

// RenameTheme gives a theme a new name. If there is a theme of that name
// already, the two become one. n is how many quotes carried the old name.
// ErrNotFound if there is no such theme; story.ErrInvalid for story.Strong,
// which is a mark and not a theme.
func (tx *Tx) RenameTheme(old, name string) (n int, err error) {
	codes, err := tx.themeCodes(old)
	if err != nil {
		return 0, err
	}
	name, err = story.ThemeName(name)
	if err != nil {
		return 0, err
	}
	from, to := themeKey(old), themeKey(name)
	if from == story.Strong || to == story.Strong {
		return 0, fmt.Errorf("theme name %q %w: it is the mark for quotes worth using", story.Strong, story.ErrInvalid)
	}
	if from == to {
		_, err := tx.put(tableTheme, to, name)
		return len(codes), err
	}
	if _, err := tx.theme(name); err != nil {
		return 0, err
	}
	for _, c := range codes {
		if _, err := tx.put(tableTag, rowKey(c, to)); err != nil {
			return 0, err
		}
	}
	return len(codes), tx.dropTheme(from, codes)
}

// RemoveTheme takes a theme off all quotes and forgets it. n is how many
// carried it. ErrNotFound if there is no such theme.
func (tx *Tx) RemoveTheme(name string) (n int, err error) {
	codes, err := tx.themeCodes(name)
	if err != nil {
		return 0, err
	}
	return len(codes), tx.dropTheme(themeKey(name), codes)
}

// AddTheme makes a theme known before any quote carries it. It tells whether
// it was not.
func (tx *Tx) AddTheme(name string) (bool, error) {
	ok, err := tx.has(tableTheme, themeKey(name))
	if err != nil || ok {
		return false, err
	}
	_, err = tx.theme(name)
	return err == nil, err
}

// themeCodes lists the codes of the quotes that carry a theme that is there.
func (tx *Tx) themeCodes(name string) ([]string, error) {
	key := themeKey(name)
	ok, err := tx.has(tableTheme, key)
	if err == nil && !ok {
		err = notFound("theme", name)
	}
	if err != nil {
		return nil, err
	}
	var codes []string
	err = tx.each("SELECT code FROM tag WHERE theme = ?", key, func(scan func(...any) error) error {
		codes = append(codes, "")
		return scan(&codes[len(codes)-1])
	})
	return codes, err
}

func (tx *Tx) dropTheme(key string, codes []string) error {
	for _, c := range codes {
		if _, err := tx.del(tableTag, rowKey(c, key)); err != nil {
			return err
		}
	}
	_, err := tx.del(tableTheme, key)
	return err
}
