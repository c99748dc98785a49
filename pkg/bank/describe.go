package bank

import (
	"fmt"

	"rushlight/pkg/story"
)

// DescribeTheme says of a theme what the detail holds. Themes nest one level
// deep. changed tells whether anything did. ErrNotFound if there is no such
// theme or parent; story.ErrInvalid for a text that can't be, for a parent
// that has a parent, for a parent given to a theme that is one, for a theme
// under itself, and for story.Strong.
func (tx *Tx) DescribeTheme(name string, d story.ThemeDetail) (changed bool, err error) {
	if err := tx.themeThere(name); err != nil {
		return false, err
	}
	key := themeKey(name)
	if err := notTheMark(key); err != nil {
		return false, err
	}
	statement, rule, err := tx.about(key)
	if err != nil {
		return false, err
	}
	if d.Statement != nil {
		if statement, err = story.ThemeStatement(*d.Statement); err != nil {
			return false, fmt.Errorf("theme %q: %w", name, err)
		}
	}
	if d.Rule != nil {
		if rule, err = story.ThemeRule(*d.Rule); err != nil {
			return false, fmt.Errorf("theme %q: %w", name, err)
		}
	}
	if d.Parent != nil {
		if changed, err = tx.setParent(name, *d.Parent); err != nil {
			return false, err
		}
	}
	did, err := tx.putAbout(key, statement, rule)
	return changed || did, err
}

// setParent puts a theme under another one; parent "" under none.
func (tx *Tx) setParent(name, parent string) (bool, error) {
	key, above := themeKey(name), themeKey(parent)
	if above == "" {
		return tx.del(tableNest, key)
	}
	if err := tx.themeThere(parent); err != nil {
		return false, err
	}
	if err := notTheMark(above); err != nil {
		return false, err
	}
	bad := func(why string) error {
		return fmt.Errorf("theme %q under %q %w: %s; themes nest one level deep", name, parent, story.ErrInvalid, why)
	}
	if key == above {
		return false, bad("it is the same theme")
	}
	over, err := tx.parentOf(above)
	if err != nil {
		return false, err
	}
	if over != "" {
		return false, bad(fmt.Sprintf("%q is under %q itself", parent, over))
	}
	under, err := tx.themesUnder(key)
	if err != nil {
		return false, err
	}
	if len(under) > 0 {
		return false, bad(fmt.Sprintf("%q has themes under it", name))
	}
	return tx.put(tableNest, key, above)
}

// ThemeRule gives the rule of a theme, "" for none. ErrNotFound.
func (tx *Tx) ThemeRule(name string) (string, error) {
	if err := tx.themeThere(name); err != nil {
		return "", err
	}
	_, rule, err := tx.about(themeKey(name))
	return rule, err
}

// about gives what is said of a theme, by key.
func (tx *Tx) about(key string) (statement, rule string, err error) {
	vals, err := tx.values(tableAbout, key)
	if err != nil || vals == nil {
		return "", "", err
	}
	statement, _ = vals[0].(string)
	rule, _ = vals[1].(string)
	return statement, rule, nil
}

// putAbout stores what is said of a theme; nothing has no row.
func (tx *Tx) putAbout(key, statement, rule string) (bool, error) {
	if statement == "" && rule == "" {
		return tx.del(tableAbout, key)
	}
	return tx.put(tableAbout, key, statement, rule)
}

// parentOf gives the key of the theme that one is under, "" if none.
func (tx *Tx) parentOf(key string) (string, error) {
	vals, err := tx.values(tableNest, key)
	if err != nil || vals == nil {
		return "", err
	}
	parent, _ := vals[0].(string)
	return parent, nil
}

func (tx *Tx) themesUnder(key string) ([]string, error) {
	return tx.texts("SELECT theme FROM nest WHERE parent = ? ORDER BY theme", key)
}

// moveAbout fills what isn't said of a theme with what is said of another.
func (tx *Tx) moveAbout(from, to string) error {
	statement, rule, err := tx.about(to)
	if err != nil {
		return err
	}
	oldStatement, oldRule, err := tx.about(from)
	if err != nil {
		return err
	}
	if statement == "" {
		statement = oldStatement
	}
	if rule == "" {
		rule = oldRule
	}
	_, err = tx.putAbout(to, statement, rule)
	return err
}

// moveNest gives a theme the place of another that goes, and the themes under
// that. Where the theme is under one itself, they come to stand beside it.
func (tx *Tx) moveNest(from, to string) error {
	above, err := tx.parentOf(to)
	if err != nil {
		return err
	}
	if above == from {
		// It takes the place of its own parent, which has none.
		if _, err := tx.del(tableNest, to); err != nil {
			return err
		}
		above = ""
	}
	oldAbove, err := tx.parentOf(from)
	if err != nil {
		return err
	}
	own, err := tx.themesUnder(to)
	if err != nil {
		return err
	}
	if above == "" && oldAbove != "" && oldAbove != to && len(own) == 0 {
		above = oldAbove
		if _, err := tx.put(tableNest, to, above); err != nil {
			return err
		}
	}
	place := to
	if above != "" {
		place = above
	}
	under, err := tx.themesUnder(from)
	if err != nil {
		return err
	}
	for _, t := range under {
		if _, err := tx.put(tableNest, t, place); err != nil {
			return err
		}
	}
	return nil
}
