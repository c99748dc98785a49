package themes

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/blevesearch/snowballstem"
	"github.com/blevesearch/snowballstem/danish"
	"github.com/blevesearch/snowballstem/dutch"
	"github.com/blevesearch/snowballstem/english"
	"github.com/blevesearch/snowballstem/finnish"
	"github.com/blevesearch/snowballstem/french"
	"github.com/blevesearch/snowballstem/german"
	"github.com/blevesearch/snowballstem/hungarian"
	"github.com/blevesearch/snowballstem/italian"
	"github.com/blevesearch/snowballstem/norwegian"
	"github.com/blevesearch/snowballstem/portuguese"
	"github.com/blevesearch/snowballstem/romanian"
	"github.com/blevesearch/snowballstem/russian"
	"github.com/blevesearch/snowballstem/spanish"
	"github.com/blevesearch/snowballstem/swedish"
)

// language is how the words of one language are cut, joined and left out.
type language struct {
	name     string
	stemmer  func(*snowballstem.Env) bool
	env      *snowballstem.Env
	stops    map[string]bool
	leading  map[string]bool // these three are empty for most languages
	joining  map[string]bool
	numbers  map[string]bool
	forms    map[string]int32
	families map[string]int32
	everyday *everyday // nil: no reference
	scratch  []byte
	words    int  // said in it
	broke    bool // a sign that parts phrases came before the word found
}

// language gives the language of a BCP 47 tag; one without a stemmer, or "",
// leaves words as they are.
func (c *corpus) language(tag string) *language {
	name := strings.ToLower(tag)
	if i := strings.IndexAny(name, "-_"); i >= 0 {
		name = name[:i]
	}
	if l, ok := c.langs[name]; ok {
		return l
	}
	l := &language{
		name: name, stemmer: stemmerOf(name), env: snowballstem.NewEnv(""),
		stops: stopWords(name), leading: leadingWords(name), joining: joiningWords(name), numbers: numberWords(name),
		forms: map[string]int32{}, families: map[string]int32{},
	}
	c.langs[name] = l
	return l
}

func stemmerOf(name string) func(*snowballstem.Env) bool {
	switch name {
	case "da":
		return danish.Stem
	case "de":
		return german.Stem
	case "en":
		return english.Stem
	case "es":
		return spanish.Stem
	case "fi":
		return finnish.Stem
	case "fr":
		return french.Stem
	case "hu":
		return hungarian.Stem
	case "it":
		return italian.Stem
	case "nl":
		return dutch.Stem
	case "no", "nb", "nn":
		return norwegian.Stem
	case "pt":
		return portuguese.Stem
	case "ro":
		return romanian.Stem
	case "ru":
		return russian.Stem
	case "sv":
		return swedish.Stem
	}
	return nil
}

// stem gives what the forms of a word share.
func (l *language) stem(word string) string {
	if l.name == "en" {
		if base, ok := strongForms(word); ok {
			word = base
		}
	}
	if l.stemmer == nil {
		return word
	}
	l.env.SetCurrent(word)
	l.stemmer(l.env)
	return strings.Clone(l.env.Current())
}

// strongForms gives the base of those irregular English forms that a film may
// well turn on; the commonest irregular verbs are stop words anyway. Common
// knowledge, no source.
func strongForms(word string) (string, bool) {
	const table = " rang:ring rung:ring sang:sing sung:sing swam:swim swum:swim drank:drink drunk:drink sank:sink" +
		" sunk:sink spoke:speak spoken:speak broke:break broken:break chose:choose chosen:choose drove:drive" +
		" driven:drive rode:ride ridden:ride wrote:write written:write fallen:fall grew:grow grown:grow" +
		" threw:throw thrown:throw flew:fly flown:fly drew:draw drawn:draw blew:blow blown:blow ate:eat eaten:eat" +
		" forgot:forget forgotten:forget held:hold kept:keep slept:sleep wept:weep felt:feel lost:lose sold:sell" +
		" sent:send spent:spend built:build bought:buy brought:bring caught:catch fought:fight taught:teach" +
		" stood:stand sat:sit won:win hung:hang stuck:stick dug:dig swung:swing tore:tear torn:tear wore:wear" +
		" worn:wear swore:swear sworn:swear stole:steal stolen:steal froze:freeze frozen:freeze woke:wake" +
		" woken:wake hid:hide hidden:hide shook:shake shaken:shake children:child women:woman men:man feet:foot" +
		" teeth:tooth geese:goose mice:mouse wives:wife knives:knife "
	if len(word) < 3 || len(word) > 9 {
		return "", false
	}
	_, rest, ok := strings.Cut(table, " "+word+":")
	if !ok {
		return "", false
	}
	base, _, _ := strings.Cut(rest, " ")
	return base, true
}

// isStop tells a word that means nothing by itself: a stop word, a filler, a
// single letter.
func (l *language) isStop(word string) bool {
	return l.stops[word] || l.name == "en" && spokenStop(word) || utf8.RuneCountInString(word) < 2 || isFiller(word)
}

// spokenStop tells what is left of English contractions, cut-off words and
// small words that transcripts of talk are full of and lists of stop words
// don't know. Common practice, no source.
func spokenStop(word string) bool {
	switch word {
	case "ve", "ll", "re", "cuz", "cos", "em", "ya", "th", "wh", "sh", "jus", "gon", "na", "wan", "sort", "kind", "stuff",
		"bit", "lot", "lots", "guess", "okay", "ok", "kay", "obviously", "actually", "definitely", "anyway", "anyways":
		return true
	}
	return false
}

// isFiller tells sounds of hesitation and assent that transcripts write in
// any language. Common practice, no source.
func isFiller(word string) bool {
	switch strings.TrimRight(word, "hm") {
	case "", "u", "a", "e", "o":
		return true
	}
	switch word {
	case "er", "erm", "äh", "ähm", "öh", "euh", "eh", "uhhuh", "yeah", "yea", "ye", "yep", "yup", "nope", "nah", "huh",
		"hey", "wow", "alright", "okay", "okey", "gonna", "gotta", "wanna", "kinda", "sorta", "dunno", "basically":
		return true
	}
	return false
}

// cut calls found with each word of a text in lower case; numbers are left
// out. The string is only good until found returns. An apostrophe cuts: of
// "bell's" and "don't" the start is kept, of the French and Italian "l'eau"
// the end. broke tells found that a full stop, comma or other such sign came
// before: no phrase runs across it.
func (l *language) cut(text string, found func(word string)) {
	word := l.scratch[:0]
	letters := false
	l.broke = false
	flush := func() {
		if letters {
			found(string(word))
			l.broke = false
		}
		word, letters = word[:0], false
	}
	skip := false
	for i := 0; i < len(text); {
		r, n := rune(text[i]), 1
		if r >= utf8.RuneSelf {
			r, n = utf8.DecodeRuneInString(text[i:])
		}
		i += n
		switch {
		case 'a' <= r && r <= 'z':
			if !skip {
				word = append(word, byte(r))
				letters = true
			}
		case r == utf8.RuneError && n == 1:
			flush()
			skip = false
		case unicode.IsLetter(r) || unicode.Is(unicode.M, r):
			if !skip {
				word = utf8.AppendRune(word, unicode.ToLower(r))
				letters = true
			}
		case unicode.IsNumber(r):
			if !skip {
				word = utf8.AppendRune(word, r)
			}
		case (r == '\'' || r == '’') && letters:
			if l.name == "fr" || l.name == "it" || l.name == "ca" {
				word, letters = word[:0], false
			} else {
				flush()
				skip = true
			}
		default:
			flush()
			skip = false
			l.broke = l.broke || parts(r)
		}
	}
	flush()
	l.scratch = word
}

// parts tells a sign that no phrase runs across.
func parts(r rune) bool {
	return strings.ContainsRune(".,;:!?…—–()[]\"“”«»/¿¡。、！？", r)
}

// asks tells whether a quote reads as a question.
func (l *language) asks(text string) bool {
	text = strings.TrimRight(text, " \t\n\"'”’»)")
	for _, mark := range []string{"?", "？", "؟"} {
		if strings.HasSuffix(text, mark) {
			return true
		}
	}
	return false
}
