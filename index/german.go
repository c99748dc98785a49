package index

import (
	"slices"
	"strings"
	"sync"
)

// Snowball's rules for German take no verb to its infinitive: läuten and
// läutet, machen and gemacht are different stems. What follows gives the other
// forms of a word as if it were one of a verb. They are looked up; the few that
// somebody said are found with it. Common knowledge of German grammar, no
// source; germanverbs_test.go holds it against a dictionary of spelling.

// germanEndings are those of regular verbs behind the core of the infinitive.
var germanEndings = []string{"en", "n", "e", "st", "est", "t", "et", "te", "ete", "test", "etest", "ten", "eten", "tet", "etet", "end"}

// germanStrong are the cores of one verb each that changes its vowel: of the
// infinitive, then others in any order.
var germanStrong = []string{
	"fahr fuhr fähr", "seh sah sieh", "geb gab gib", "nehm nahm nimm nomm", "sprech sprach sprich sproch", "helf half hilf holf",
	"sterb starb stirb storb", "werf warf wirf worf", "treff traf triff troff", "brech brach brich broch", "ess aß iss gess",
	"les las lies", "tret trat tritt", "vergess vergaß vergiss", "mess maß miss", "find fand fund", "sing sang sung", "kling klang klung",
	"trink trank trunk", "spring sprang sprung", "sink sank sunk", "bind band bund", "zwing zwang zwung", "ring rang rung",
	"schwind schwand schwund", "schwimm schwamm schwomm", "beginn begann begonn", "gewinn gewann gewonn", "komm kam", "geh ging gang",
	"steh stand", "lass ließ läss", "schlaf schlief schläf", "halt hielt hält", "fall fiel fäll", "fang fing fäng", "häng hing hang",
	"lauf lief läuf", "trag trug träg", "schlag schlug schläg", "wachs wuchs wächs", "wasch wusch wäsch", "lad lud läd", "grab grub gräb",
	"back buk bäck", "zieh zog", "flieh floh", "flieg flog", "bieg bog", "biet bot", "verlier verlor", "frier fror", "schließ schloss",
	"schieß schoss", "gieß goss", "fließ floss", "genieß genoss", "riech roch", "kriech kroch", "schreib schrieb", "bleib blieb",
	"steig stieg", "treib trieb", "schrei schrie", "schein schien", "schweig schwieg", "reiß riss", "beiß biss", "greif griff", "reit ritt",
	"schneid schnitt", "leid litt", "streit stritt", "gleich glich", "schleich schlich", "streich strich", "weis wies", "ruf rief",
	"stoß stieß stöß", "lieg lag", "sitz saß sess", "bitt bat bet", "denk dacht", "bring bracht", "kenn kannt", "brenn brannt", "renn rannt", "nenn nannt", "send sandt", "wend wandt", "wiss wusst",
	"lüg log", "schwör schwor", "heb hob", "stehl stahl stiehl stohl", "empfehl empfahl empfiehl empfohl", "erschreck erschrak erschrick",
	"schmelz schmolz schmilz", "heiß hieß", "gescheh geschah geschieh", "entscheid entschied", "verzeih verzieh",
}

// strongVerbs finds the cores of a verb by any of them.
var strongVerbs = sync.OnceValue(func() map[string][][]string {
	by := map[string][][]string{}
	for _, verb := range germanStrong {
		cores := strings.Fields(verb)
		for _, c := range cores {
			by[c] = append(by[c], cores)
		}
	}
	return by
})

// germanApart are beginnings of verbs that part from them; the first is none.
var germanApart = []string{
	"", "ab", "an", "auf", "aus", "bei", "ein", "fest", "fort", "her", "hin", "los", "mit", "nach", "vor", "weg", "zu", "zurück", "zusammen", "um", "durch", "über",
	"herüber", "hinüber", "herunter", "hinunter", "herauf", "hinauf", "heraus", "hinaus", "herein", "hinein", "vorbei", "wieder", "weiter",
}

// notGerman are words that only look like forms of verbs: the noun, or what
// they are a form of.
var notGerman = strings.Fields("gefahr gebet gewalt gericht gestalt geburt gesicht gewicht gedicht gegen geist braun hase nieren äste")

// nounsToo are forms of verbs that are nouns as often, or have a noun's stem:
// the verb is found by them, but they don't count as it.
var nounsToo = strings.Fields("gefahren band bund griff hang fang trank stand schnitt gang klang sprung rang trunk maß")

const coreLeast = 3 // letters of a core, but ess-

// germanVerbForms gives what a word in small letters may be called elsewhere if
// it is a verb, in any order; it is not among them. Most are no words.
func germanVerbForms(w string) []string {
	if slices.Contains(notGerman, w) {
		return nil
	}
	return withoutApart(w, germanApart, func(apart, rest string, add func(string)) {
		for _, core := range germanCores(rest, apart != "") {
			for _, e := range germanEndings {
				add(apart + core + e)
			}
			for _, e := range []string{"t", "et", "en"} {
				add(apart + "ge" + core + e)
			}
			if apart != "" {
				add(apart + "zu" + core + "en")
			}
			if start := core[:len(core)-2]; strings.HasSuffix(core, "el") || strings.HasSuffix(core, "er") {
				add(apart + start + core[len(core)-1:] + "e") // ich sammle
			}
			for _, cores := range strongVerbs()[core] {
				for k, c := range cores {
					if k > 0 {
						add(apart + c) // er fuhr, er gab ab
					}
					for _, e := range germanEndings {
						add(apart + c + e)
					}
					add(apart + "ge" + c + "en")
					add(apart + "ge" + c + "t")
					if strings.HasSuffix(c, "t") {
						add(apart + "ge" + c) // gebracht
					}
				}
			}
		}
	})
}

// germanCores gives what may be the core of a verb in a form of it; with apart,
// the form lost a beginning.
func germanCores(w string, apart bool) []string {
	var out []string
	add := func(core string) {
		if (len(core) >= coreLeast || core == "ess" || core == "aß") && strings.ContainsAny(core, "aeiouyäöü") && !slices.Contains(out, core) {
			out = append(out, core)
		}
	}
	stems := []string{w}
	if rest, ok := strings.CutPrefix(w, "ge"); ok && (strings.HasSuffix(w, "t") || strings.HasSuffix(w, "en")) {
		stems = append(stems, rest)
	}
	if rest, ok := strings.CutPrefix(w, "zu"); ok && apart && strings.HasSuffix(w, "en") {
		stems = append(stems, rest)
	}
	for _, s := range stems {
		for _, e := range germanEndings {
			if core, ok := strings.CutSuffix(s, e); ok {
				add(core)
			}
		}
		for _, e := range []string{"le", "re"} {
			if start, ok := strings.CutSuffix(s, e); ok && !strings.HasSuffix(start, "e") {
				add(start + "e" + e[:1])
			}
		}
	}
	for _, s := range stems {
		for _, cores := range strongVerbs()[s] {
			if cores[0] != s {
				add(cores[0]) // fuhr, gebracht
			}
		}
	}
	return out
}

// germanInfinitives gives the infinitives that a word in small letters may be a
// form of, and the form without ge- of a participle. Most are no words.
func germanInfinitives(w string) []string {
	if slices.Contains(notGerman, w) || slices.Contains(nounsToo, w) {
		return nil
	}
	return withoutApart(w, germanApart, func(apart, rest string, add func(string)) {
		for _, core := range germanCores(rest, apart != "") {
			add(apart + core + "en")
			if strings.HasSuffix(core, "el") || strings.HasSuffix(core, "er") {
				add(apart + core + "n")
			}
			for _, cores := range strongVerbs()[core] {
				add(apart + cores[0] + "en")
			}
		}
		if form, ok := strings.CutPrefix(rest, "ge"); ok && strings.HasSuffix(form, "t") && len(form) > coreLeast {
			add(apart + form)
		}
	})
}

// withoutApart gathers what of adds for a word, and for what is left of it
// without each beginning that it has, each word once and not the word itself.
func withoutApart(w string, beginnings []string, of func(apart, rest string, add func(string))) (out []string) {
	seen := map[string]bool{w: true}
	for _, apart := range beginnings {
		if rest, ok := strings.CutPrefix(w, apart); ok {
			of(apart, rest, func(form string) {
				if !seen[form] {
					seen[form] = true
					out = append(out, form)
				}
			})
		}
	}
	return out
}

// Bases gives words in small letters that a word may be a form of although
// stemming leaves them apart, in any order; whether they are words is not
// known. Only for German and Dutch; nil for other languages.
func Bases(language, word string) []string {
	switch languageName(language) {
	case "de":
		return germanInfinitives(word)
	case "nl":
		return dutchInfinitives(word)
	}
	return nil
}

// verbForms gives what a word in small letters may be called elsewhere if it is
// a verb of a language whose stemming leaves verbs apart.
func verbForms(language, w string) []string {
	switch language {
	case "de":
		return germanVerbForms(w)
	case "nl":
		return dutchVerbForms(w)
	case "pt":
		return portugueseVerbForms(w)
	}
	return nil
}
