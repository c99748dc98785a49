package bank

import (
	"fmt"

	"rushlight/pkg/story"
)

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

// RenameTheme gives a theme a new name. If there is a theme of that name
// already, the two become one: what is said of that one stays, and what isn't
// is taken from the old. Tags keep who set them. n is how many quotes carried
// the old name. ErrNotFound if there is no such theme; story.ErrInvalid for
// story.Strong, which is a mark and not a theme.
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
	if err := notTheMark(from, to); err != nil {
		return 0, err
	}
	if from == to {
		_, err := tx.put(tableTheme, to, name)
		return len(codes), err
	}
	if _, err := tx.theme(name); err != nil {
		return 0, err
	}
	for _, c := range codes {
		if err := tx.moveTag(c, from, to); err != nil {
			return 0, err
		}
	}
	for _, move := range []func(from, to string) error{tx.moveRefusals, tx.moveAbout, tx.moveNest} {
		if err := move(from, to); err != nil {
			return 0, err
		}
	}
	return len(codes), tx.dropTheme(from, nil)
}

// SplitTheme gives quotes that carry one theme another one instead, which is
// made if it isn't there. Tags keep who set them. n is how many of the quotes
// carried the old one; the others stay as they are. ErrNotFound if the old
// theme or a quote isn't there; story.ErrInvalid for a name that can't be a
// theme, for two names of one theme and for story.Strong.
func (tx *Tx) SplitTheme(old, name string, codes []story.Code) (n int, err error) {
	if err := tx.themeThere(old); err != nil {
		return 0, err
	}
	from, to := themeKey(old), themeKey(name)
	if err := notTheMark(from, to); err != nil {
		return 0, err
	}
	if from == to {
		return 0, fmt.Errorf("theme %q %w: split into itself; want another name", old, story.ErrInvalid)
	}
	if _, err := tx.theme(name); err != nil {
		return 0, err
	}
	for _, c := range codes {
		if err := tx.there(c); err != nil {
			return 0, err
		}
		on, err := tx.has(tableTag, rowKey(string(c), from))
		if err != nil {
			return 0, err
		}
		if !on {
			continue
		}
		if err := tx.moveTag(string(c), from, to); err != nil {
			return 0, err
		}
		n++
	}
	return n, nil
}

// RemoveTheme takes a theme off all quotes and forgets it, with what was said
// of it and refused for it; the themes under it stand alone again. n is how
// many quotes carried it. ErrNotFound if there is no such theme.
func (tx *Tx) RemoveTheme(name string) (n int, err error) {
	codes, err := tx.themeCodes(name)
	if err != nil {
		return 0, err
	}
	return len(codes), tx.dropTheme(themeKey(name), codes)
}

// notTheMark is story.ErrInvalid if any of the keys is that of the mark.
func notTheMark(keys ...string) error {
	for _, key := range keys {
		if key == story.Strong {
			return fmt.Errorf("theme name %q %w: it is the mark for quotes worth using", story.Strong, story.ErrInvalid)
		}
	}
	return nil
}

// themeThere is ErrNotFound if there is no such theme.
func (tx *Tx) themeThere(name string) error {
	ok, err := tx.has(tableTheme, themeKey(name))
	if err == nil && !ok {
		err = notFound("theme", name)
	}
	return err
}

// themeCodes lists the codes of the quotes that carry a theme that is there.
func (tx *Tx) themeCodes(name string) ([]string, error) {
	if err := tx.themeThere(name); err != nil {
		return nil, err
	}
	return tx.texts("SELECT code FROM tag WHERE theme = ?", themeKey(name))
}

// texts runs a query with one argument that gives one column.
func (tx *Tx) texts(query string, arg any) (list []string, err error) {
	err = tx.each(query, arg, func(scan func(...any) error) error {
		list = append(list, "")
		return scan(&list[len(list)-1])
	})
	return list, err
}

// dropTheme forgets a theme that these quotes carry.
func (tx *Tx) dropTheme(key string, codes []string) error {
	for _, c := range codes {
		if _, err := tx.del(tableTag, rowKey(c, key)); err != nil {
			return err
		}
	}
	refused, err := tx.texts("SELECT code FROM refusal WHERE theme = ?", key)
	if err != nil {
		return err
	}
	for _, c := range refused {
		if _, err := tx.del(tableRefusal, rowKey(c, key)); err != nil {
			return err
		}
	}
	under, err := tx.themesUnder(key)
	if err != nil {
		return err
	}
	for _, t := range append(under, key) {
		if _, err := tx.del(tableNest, t); err != nil {
			return err
		}
	}
	for _, t := range []*table{tableAbout, tableTheme} {
		if _, err := tx.del(t, key); err != nil {
			return err
		}
	}
	return nil
}
