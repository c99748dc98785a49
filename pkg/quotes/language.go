package quotes

import (
	"strings"
	"unicode"

	"golang.org/x/text/language"

	"rushlight/pkg/timedtext"
)

// leastWords is how many words a guess at the language needs.
const leastWords = 20

// Language finds the language of a transcript as a BCP 47 tag: what the
// document declares, else declared, else what its commonest words tell; ""
// if they don't tell.
func Language(doc *timedtext.Document, declared string) string {
	if doc != nil {
		if t := tag(doc.Language); t != "" {
			return t
		}
	}
	if t := tag(declared); t != "" {
		return t
	}
	if doc == nil {
		return ""
	}
	var b strings.Builder
	for _, c := range doc.Cues {
		b.WriteString(c.Plain())
		b.WriteByte('\n')
		if b.Len() > 200_000 {
			break
		}
	}
	return detect(b.String())
}

// tag is the canonical form of a language tag, "" if it is none or says
// nothing.
func tag(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.EqualFold(s, "und") {
		return ""
	}
	t, err := language.Parse(s)
	if err != nil || t == language.Und {
		return ""
	}
	return t.String()
}

// stopWords are common words that tell a language from its relatives; our own
// short lists.
var stopWords = map[string]string{
	"en": " the and of to that it is was you for they are this with have not what there we he she but his had about would when know just been were which from as at i'm don't it's ",
	"de": " der die das und ist nicht ich zu ein eine sie es wir mit auf den dem für auch war sich von aber haben wie dass da noch wird sind nur man hat wenn mir oder mal ",
	"fr": " le la les des et est que je vous il elle dans pour pas une un c'est on nous qui ce sur avec mais ça sont était j'ai du au aux été plus cette très ",
	"es": " el la los las que de y en es un una no por con para lo se pero como más yo está muy cuando también porque del al había era esto todo ",
	"nl": " de het een en van ik dat niet is je die we zijn op te maar met wat er voor ook ze als dan aan naar hebben heb was bij nog wel hij geen ",
	"it": " il la che di e non è un una per sono con ma lo mi gli le si da come questo anche più era perché della del nel molto quando io ho ",
	"pt": " o a os as que de e não um uma para com eu se mas por mais está como foi em do da no na você muito quando também isso era ele nós ",
	"sv": " och att det som en är på jag inte för med till var den har om men ett så vi han av hade när också från kan ",
	"da": " og at det er en på jeg ikke for med til var den har om men et så vi han af havde når også fra kan der ",
	"nb": " og at det er en på jeg ikke for med til var den har om men et så vi han av hadde når også fra kan som ",
	"pl": " i w nie na się że jest to z do jak ale co o tak po tym był ja za od już tylko czy mnie dla przez było ",
	"fi": " ja on ei se että en hän oli mutta niin minä kun mitä tämä ole sitä nyt vain kuin sen jos ",
	"ru": " и в не на я что он с как это но она мы так все был его по из вы за то было от ",
}

// detect counts each language's common words and takes the one that clearly
// has most of them.
func detect(text string) string {
	words := strings.FieldsFunc(strings.ToLower(strings.ReplaceAll(text, "’", "'")), func(r rune) bool {
		return !unicode.IsLetter(r) && r != '\'' && !unicode.Is(unicode.Mn, r)
	})
	if l := byScript(text); l != "" {
		return l
	}
	if len(words) < leastWords {
		return ""
	}
	count := make(map[string]int, 2000)
	for _, w := range words {
		count[strings.Trim(w, "'")]++
	}
	best, most, second := "", 0, 0
	for _, l := range []string{"en", "de", "fr", "es", "nl", "it", "pt", "sv", "da", "nb", "pl", "fi", "ru"} {
		n := 0
		for _, w := range strings.Fields(stopWords[l]) {
			n += count[w]
		}
		if n > most {
			best, most, second = l, n, most
		} else {
			second = max(second, n)
		}
	}
	// At least one word in eight, and more than the next language by a tenth.
	if most*8 < len(words) || most*10 < second*11 {
		return ""
	}
	return best
}

// byScript tells languages whose letters are theirs alone.
func byScript(text string) string {
	var kana, han, hangul, greek, all int
	for _, r := range text {
		switch {
		case unicode.In(r, unicode.Hiragana, unicode.Katakana):
			kana++
		case unicode.Is(unicode.Han, r):
			han++
		case unicode.Is(unicode.Hangul, r):
			hangul++
		case unicode.Is(unicode.Greek, r):
			greek++
		}
		if unicode.IsLetter(r) {
			all++
		}
	}
	switch {
	case all < leastWords:
		return ""
	case kana*10 > all:
		return "ja"
	case han*2 > all:
		return "zh"
	case hangul*2 > all:
		return "ko"
	case greek*2 > all:
		return "el"
	}
	return ""
}
