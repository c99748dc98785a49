package quotes

import (
	"strings"
	"unicode/utf8"
)

// The word lists are our own, of common words and abbreviations; a word
// stands between spaces, so that one search finds it.

// titles stand before a name and never end a sentence.
var titles = map[string]string{
	"en": " dr. mr. mrs. ms. prof. st. sgt. capt. lt. col. gen. rev. hon. gov. sen. rep. messrs. mx. fr. mt. ft. pres. supt. cpl. pvt. cmdr. ",
	"de": " dr. hr. hrn. fr. prof. st. dipl. ing. med. phil. jur. frl. bürgerm. ",
	"fr": " m. mm. mme. mmes. mlle. mlles. dr. pr. me. mgr. st. ste. ",
	"es": " sr. sra. srta. sres. dr. dra. d. dña. prof. lic. ing. sto. sta. ud. uds. vd. vds. ",
	"nl": " dhr. mevr. mw. mr. dr. drs. ing. ir. prof. ds. st. ",
	"it": " sig. sigg. dott. prof. ing. avv. on. arch. geom. rag. mons. sac. ss. ",
	"pt": " sr. sra. srs. dr. dra. prof. profa. eng. exmo. exma. d. sto. sta. ",
}

// numberWords are abbreviations only before a figure.
var numberWords = map[string]string{
	"en": " no. nos. fig. figs. vol. ch. pp. p. op. approx. jan. feb. mar. apr. jun. jul. aug. sep. sept. oct. nov. dec. art. sec. ",
	"de": " nr. bd. abb. kap. s. abs. art. ziff. ",
	"fr": " n. nos. fig. vol. chap. p. pp. art. ",
	"es": " n. núm. fig. vol. cap. p. pág. págs. art. ",
	"nl": " nr. nrs. fig. afb. blz. p. art. ",
	"it": " n. nn. fig. vol. cap. p. pag. art. ",
	"pt": " n. núm. fig. vol. cap. p. pág. art. ",
}

// abbreviations may stand before a capital within a sentence.
var abbreviations = map[string]string{
	"en": " e.g. i.e. vs. cf. sr. dept. est. ave. blvd. rd. ca. viz. ph.d. u.s. u.k. incl. approx. min. max. ",
	"de": " z.b. d.h. u.a. bzw. ca. evtl. ggf. inkl. exkl. vgl. sog. bspw. str. geb. gest. mio. mrd. tel. abt. z.t. i.d.r. v.a. mind. max. min. jan. feb. febr. apr. aug. sept. okt. nov. dez. z. d. b. u. v. ",
	"fr": " p.ex. c.-à-d. cf. env. av. bd. éd. tél. apr. boul. ",
	"es": " p.ej. ej. aprox. avda. av. c. pza. tel. depto. admón. ",
	"nl": " bijv. bv. d.w.z. o.a. m.a.w. t.o.v. i.v.m. ca. evt. incl. excl. z.g. resp. vgl. str. ",
	"it": " es. p.es. ca. cfr. tel. pag. c.so. v.le. p.zza. ",
	"pt": " p.ex. ex. aprox. av. tel. depto. ",
}

// finals are abbreviations with which a sentence often ends: only a small
// letter after them tells that it goes on.
var finals = map[string]string{
	"en": " etc. al. inc. ltd. co. corp. jr. a.m. p.m. ",
	"de": " usw. u.s.w. jh. jhdt. o.ä. ",
	"fr": " etc. j.-c. ",
	"es": " etc. a.c. d.c. ee.uu. cía. ",
	"nl": " enz. a.s. jl. ",
	"it": " ecc. a.c. d.c. s.p.a. ",
	"pt": " etc. a.c. d.c. cia. ltda. ",
}

// starters are words with which a new sentence plausibly begins after an
// abbreviation.
var starters = map[string]string{
	"en": " the a an i i'm i'd i'll i've it it's he he's she she's we we're they they're you you're this that that's these those there there's and but so or then when what why how who where if in on at my our his her their no yes well now not one oh because after before ",
	"de": " der die das den dem ein eine einen ich er sie es wir ihr und aber oder dann da doch also wenn was wie wo wer warum weil so nun jetzt ja nein nicht man mein meine unser als dieser diese dieses im in am an auf ",
	"fr": " le la les l' un une des je j'ai j'étais tu il elle on nous vous ils elles c'est ce cette ces et mais ou donc alors quand que qui où si oui non mon ma mes puis après dans ",
	"es": " el la los las un una yo tú él ella nosotros ellos ellas es esto esta este y pero o entonces cuando que qué quién dónde si sí no mi mis su luego después en ",
	"nl": " de het een ik jij je hij zij ze wij we jullie dit dat deze die en maar of dan toen als wat wie waar hoe ja nee mijn onze daar er in op ",
	"it": " il lo la i gli le un una io tu lui lei noi voi loro è questo questa e ma o allora quando che chi dove se sì no mio mia poi dopo in ",
	"pt": " o a os as um uma eu tu ele ela nós eles elas é isto isso este esta e mas ou então quando que quem onde se sim não meu minha depois em ",
}

// fillers are the sounds and words of somebody who is still thinking.
var fillers = map[string]string{
	"en": " um uh er erm ah eh hm hmm mm mhm like well so know mean okay right anyway ",
	"de": " äh ähm öh hm hmm mm na also ja naja tja halt eben ",
	"fr": " euh heu hum ben bah bon alors donc enfin voilà hein quoi ",
	"es": " eh em este bueno pues mm hm entonces ah ",
	"nl": " eh ehm uh uhm euh nou ja dus hm mm zeg ",
	"it": " eh ehm uhm mm beh allora cioè insomma ecco ",
	"pt": " é hum hã ah bem então pois tipo né ",
}

// links are words at which nobody ends a saying.
var links = map[string]string{
	"en": " and but or because the a an to of in on at with for from my your his her our their its i we they he she if when that which who as is was were are ",
	"de": " und aber oder weil der die das den dem des ein eine einen zu von in im am mit für mein dein sein unser ich wir er sie es wenn dass als ist war sind ",
	"fr": " et mais ou parce car le la les un une des de du à en avec pour mon ma mes je tu il elle nous que qui est était ",
	"es": " y pero o porque el la los las un una de del a en con para mi su yo que es era ",
	"nl": " en maar of omdat de het een van in op met voor mijn zijn haar ik wij hij zij dat die is was ",
	"it": " e ma o perché il lo la i gli le un una di del a in con per mio mia io che è era ",
	"pt": " e mas ou porque o a os as um uma de do da em com para meu minha eu que é era ",
}

// has tells whether a list of a language holds a word; a language without a
// list has no such words.
func has(lists map[string]string, language, word string) bool {
	if word == "" || strings.Contains(word, " ") {
		return false
	}
	return strings.Contains(lists[language], " "+strings.ToLower(word)+" ")
}

func isTitle(w, language string) bool        { return has(titles, language, w) }
func isNumberWord(w, language string) bool   { return has(numberWords, language, w) }
func isAbbreviation(w, language string) bool { return has(abbreviations, language, w) }
func isFinal(w, language string) bool        { return has(finals, language, w) }
func isFiller(w, language string) bool       { return has(fillers, language, w) }
func isLink(w, language string) bool         { return has(links, language, w) }

func isStarter(w, language string) bool {
	w = strings.ReplaceAll(w, "’", "'")
	return has(starters, language, trimSigns(w))
}

// unelided is a word without an article that runs into it: l'art., L'avv.
func unelided(w, language string) string {
	if language != "fr" && language != "it" {
		return w
	}
	for i, r := range w {
		if (r == '\'' || r == '’') && i > 0 && i <= len("quell") {
			return w[i+utf8.RuneLen(r):]
		}
	}
	return w
}

// abbreviated tells whether a text ends in an abbreviation.
func abbreviated(text, language string) bool {
	l := base(language)
	w := unelided(lastWord(text), l)
	return isTitle(w, l) || isNumberWord(w, l) || isAbbreviation(w, l) || isFinal(w, l) || initials(strings.TrimSuffix(w, "."))
}
