package index

import (
	"slices"
	"strings"
	"sync"
)

// Snowball's rules for Dutch take verbs no further than those for German do:
// werken, werkt and gewerkt are three stems. As in german.go, the forms that a
// word would have as a verb are looked up. Common knowledge of Dutch spelling
// and grammar, no source.

// dutchStrong are the forms of verbs that change their vowels, or more, each
// with its infinitive first.
var dutchStrong = []string{
	"gaan ga gaat ging gingen gegaan", "staan sta staat stond stonden gestaan", "slaan sla slaat sloeg sloegen geslagen",
	"zien zie ziet zag zagen gezien", "doen doe doet deed deden gedaan", "komen kom komt kwam kwamen gekomen",
	"geven geef geeft gaf gaven gegeven", "nemen neem neemt nam namen genomen", "spreken spreek spreekt sprak spraken gesproken",
	"breken breek breekt brak braken gebroken", "lezen lees leest las lazen gelezen", "eten eet at aten gegeten",
	"vergeten vergeet vergat vergaten", "meten meet mat maten gemeten", "treden treed treedt trad traden getreden",
	"zitten zit zat zaten gezeten", "liggen lig ligt lag lagen gelegen", "bidden bid bidt bad baden gebeden",
	"lopen loop loopt liep liepen gelopen", "roepen roep roept riep riepen geroepen", "slapen slaap slaapt sliep sliepen geslapen",
	"laten laat liet lieten gelaten", "vallen val valt viel vielen gevallen", "houden houd houdt hou hield hielden gehouden",
	"vangen vang vangt ving vingen gevangen", "hangen hang hangt hing hingen gehangen", "helpen help helpt hielp hielpen geholpen",
	"sterven sterf sterft stierf stierven gestorven", "werpen werp werpt wierp wierpen geworpen", "zwerven zwerf zwerft zwierf zwierven gezworven",
	"varen vaar vaart voer voeren gevaren", "dragen draag draagt droeg droegen gedragen", "graven graaf graaft groef groeven gegraven",
	"vragen vraag vraagt vroeg vroegen gevraagd", "rijden rijd rijdt reed reden gereden", "schrijven schrijf schrijft schreef schreven geschreven",
	"blijven blijf blijft bleef bleven gebleven", "krijgen krijg krijgt kreeg kregen gekregen", "kijken kijk kijkt keek keken gekeken",
	"lijken lijk lijkt leek leken geleken", "stijgen stijg stijgt steeg stegen gestegen", "zwijgen zwijg zwijgt zweeg zwegen gezwegen",
	"snijden snijd snijdt sneed sneden gesneden", "lijden lijd lijdt leed leden geleden", "wijzen wijs wijst wees wezen gewezen",
	"verdwijnen verdwijn verdwijnt verdween verdwenen", "schijnen schijn schijnt scheen schenen geschenen", "begrijpen begrijp begrijpt begreep begrepen",
	"drinken drink drinkt dronk dronken gedronken", "zingen zing zingt zong zongen gezongen", "klinken klink klinkt klonk klonken geklonken",
	"springen spring springt sprong sprongen gesprongen", "vinden vind vindt vond vonden gevonden", "binden bind bindt bond bonden gebonden",
	"zinken zink zinkt zonk zonken gezonken", "winnen win wint won wonnen gewonnen", "beginnen begin begint begon begonnen",
	"zwemmen zwem zwemt zwom zwommen gezwommen", "trekken trek trekt trok trokken getrokken", "vertrekken vertrek vertrekt vertrok vertrokken",
	"treffen tref treft trof troffen getroffen", "schieten schiet schoot schoten geschoten", "gieten giet goot goten gegoten",
	"verliezen verlies verliest verloor verloren", "kiezen kies kiest koos kozen gekozen", "vriezen vries vriest vroor vroren gevroren",
	"vliegen vlieg vliegt vloog vlogen gevlogen", "liegen lieg liegt loog logen gelogen", "bieden bied biedt bood boden geboden",
	"ruiken ruik ruikt rook roken geroken", "buigen buig buigt boog bogen gebogen", "sluiten sluit sloot sloten gesloten",
	"kruipen kruip kruipt kroop kropen gekropen", "denken denk denkt dacht dachten gedacht", "brengen breng brengt bracht brachten gebracht",
	"zoeken zoek zoekt zocht zochten gezocht", "kopen koop koopt kocht kochten gekocht", "weten weet wist wisten geweten",
	"zeggen zeg zegt zei zeiden gezegd", "leggen leg legt legde legden gelegd",
}

var dutchStrongForms = sync.OnceValue(func() map[string][]string {
	by := map[string][]string{}
	for _, verb := range dutchStrong {
		forms := strings.Fields(verb)
		for _, f := range forms {
			by[f] = append(by[f], forms...)
		}
	}
	return by
})

// dutchApart are beginnings of verbs that part from them; the first is none.
var dutchApart = []string{
	"", "aan", "af", "bij", "door", "in", "mee", "na", "om", "onder", "op", "over", "toe", "uit", "vast", "voor", "weg", "terug", "samen", "rond", "tegen", "heen",
	"neer", "open", "voorbij", "tussen", "achter", "dicht", "los", "klaar", "langs",
}

// dutchNouns are nouns, and other words, as often as forms of another verb.
var dutchNouns = strings.Fields("was bad bond boot beet band gat haar lag las mat won wees rook sloot boden leden reden heen zonder geluid gebied gebed gezicht")

// dutchVerbForms gives what a word in small letters may be called elsewhere if
// it is a verb, in any order; it is not among them. Most are no words.
func dutchVerbForms(w string) []string {
	return withoutApart(w, dutchApart, func(apart, rest string, add func(string)) {
		for _, v := range dutchVerbs(rest, apart != "") {
			infinitive, root := v[0], v[1]
			for _, f := range []string{infinitive, infinitive + "d", infinitive + "de", root, root + "t", root + "te", root + "ten", root + "de", root + "den"} {
				add(apart + f)
			}
			for _, e := range []string{"t", "d"} {
				add(apart + "ge" + strings.TrimSuffix(root, e) + e)
			}
			if apart != "" {
				add(apart + "te" + infinitive)
			}
		}
		for _, f := range dutchStrongForms()[rest] {
			add(apart + f)
		}
	})
}

// dutchInfinitives gives the infinitives that a word in small letters may be a
// form of. Most are no words.
func dutchInfinitives(w string) []string {
	if slices.Contains(dutchNouns, w) {
		return nil
	}
	return withoutApart(w, dutchApart, func(apart, rest string, add func(string)) {
		for _, v := range dutchVerbs(rest, apart != "") {
			add(apart + v[0])
		}
		if known := dutchStrongForms()[rest]; known != nil {
			add(apart + known[0])
		}
	})
}

// dutchVerbs gives infinitives and roots of the regular verbs that a word may
// be a form of; with apart, it lost a beginning.
func dutchVerbs(w string, apart bool) (out [][2]string) {
	root := func(r string) {
		if len(r) < coreLeast || !strings.ContainsAny(r, "aeiouy") {
			return
		}
		for _, infinitive := range dutchOpened(r) {
			out = append(out, [2]string{infinitive, r})
		}
	}
	for _, e := range []string{"", "t", "te", "ten", "d", "de", "den"} {
		if r, ok := strings.CutSuffix(w, e); ok && (e != "" || !strings.HasSuffix(w, "en")) {
			root(r)
		}
	}
	if participle, ok := strings.CutPrefix(w, "ge"); ok {
		for _, e := range []string{"", "t", "d"} {
			if r, ok := strings.CutSuffix(participle, e); ok && !strings.HasSuffix(participle, "en") {
				root(r)
			}
		}
	}
	infinitives := []string{w}
	if rest, ok := strings.CutPrefix(w, "te"); ok && apart {
		infinitives = append(infinitives, rest)
	}
	for _, e := range []string{"d", "de"} {
		if rest, ok := strings.CutSuffix(w, e); ok {
			infinitives = append(infinitives, rest)
		}
	}
	for _, v := range infinitives {
		if s, ok := strings.CutSuffix(v, "en"); ok && len(s) >= 2 {
			for _, r := range dutchClosed(s) {
				out = append(out, [2]string{v, r})
			}
		}
	}
	return out
}

const dutchVowels = "aeiouy"

// dutchClosed gives the roots that an infinitive without -en may have: mak
// gives maak (and mak), bakk bak, lev leef, reiz reis, wandel wandel.
func dutchClosed(s string) []string {
	last := s[len(s)-1]
	if len(s) >= 2 && s[len(s)-2] == last && !strings.ContainsRune(dutchVowels, rune(last)) {
		return []string{s[:len(s)-1]}
	}
	hard := s
	switch last {
	case 'v':
		hard = s[:len(s)-1] + "f"
	case 'z':
		hard = s[:len(s)-1] + "s"
	}
	out := []string{hard}
	n := len(s)
	if n >= 2 && strings.ContainsRune("aeou", rune(s[n-2])) && (n == 2 || !strings.ContainsRune(dutchVowels, rune(s[n-3]))) && !strings.ContainsRune(dutchVowels, rune(last)) {
		out = append(out, hard[:n-1]+hard[n-2:])
	}
	return out
}

// dutchOpened gives the infinitives that a root may have, as the reverse of
// dutchClosed.
func dutchOpened(r string) (out []string) {
	n := len(r)
	last := r[n-1:]
	soft := map[string]string{"f": "v", "s": "z"}[last]
	vowel := func(i int) bool { return i >= 0 && strings.ContainsRune(dutchVowels, rune(r[i])) }
	switch {
	case vowel(n - 1):
		return nil
	case n >= 3 && r[n-2] == r[n-3] && strings.ContainsRune("aeou", rune(r[n-2])): // maak
		out = append(out, r[:n-2]+last+"en")
		if soft != "" {
			out = append(out, r[:n-2]+soft+"en")
		}
		return out
	case vowel(n-2) && !vowel(n-3): // bak, wandel
		out = append(out, r+last+"en", r+"en")
	default: // werk, reis
		out = append(out, r+"en")
	}
	if soft != "" {
		out = append(out, r[:n-1]+soft+"en")
	}
	return out
}
