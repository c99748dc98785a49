package index

import (
	"slices"
	"strings"
)

// Portuguese has bleve's light stemmer here, which knows nouns and leaves verbs
// alone. As in german.go, the forms that a word would have as a regular verb
// are looked up. Common knowledge of Portuguese grammar, no source;
// portuguese_test.go holds it against a dictionary of spelling.

// portugueseEndings are those of the three conjugations, the infinitive first.
var portugueseEndings = [3][]string{
	strings.Fields(`ar o as a amos ais am ei aste ou ámos astes aram ava avas ávamos áveis avam ara aras áramos áreis
		arei arás ará aremos areis arão aria arias aríamos aríeis ariam e es emos eis em asse asses ássemos ásseis assem
		ares armos ardes arem ando ado ada ados adas ai`),
	strings.Fields(`er o es e emos eis em i este eu estes eram ia ias íamos íeis iam era eras êramos êreis
		erei erás erá eremos ereis erão eria erias eríamos eríeis eriam a as amos ais am esse esses êssemos êsseis essem
		eres ermos erdes erem endo ido ida idos idas ei`),
	strings.Fields(`ir o es e imos is em i iste iu istes iram ia ias íamos íeis iam ira iras íramos íreis
		irei irás irá iremos ireis irão iria irias iríamos iríeis iriam a as amos ais am isse isses íssemos ísseis issem
		ires irmos irdes irem indo ido ida idos idas i`),
}

// portugueseNouns are endings that nouns have as often: by them no word is
// taken for a verb.
var portugueseNouns = strings.Fields("o a e i as es is am em eu ai ia ias ais eis ado ada ados adas ido ida idos idas era eras este estes aste ares eres ires aria arias eria erias")

// portugueseVerbForms gives what a word in small letters may be called
// elsewhere if it is surely a verb, in any order; it is not among them. Most
// are no words.
func portugueseVerbForms(w string) []string {
	var out []string
	for _, conjugation := range portugueseEndings {
		var cores []string
		for _, e := range conjugation {
			core, ok := strings.CutSuffix(w, e)
			if ok && len(core) >= 2 && strings.ContainsAny(core, "aeiouáéíóúâêôãõç") && !slices.Contains(portugueseNouns, e) && !slices.Contains(cores, core) {
				cores = append(cores, core)
			}
		}
		for _, core := range cores {
			for _, as := range portugueseSpelt(core) {
				for _, e := range conjugation {
					if form := as + e; form != w && !slices.Contains(out, form) {
						out = append(out, form)
					}
				}
			}
		}
	}
	return out
}

// portugueseSpelt gives a core with the letters that stand for its last sound
// before other vowels: ficar and fiquei, chegar and cheguei, começar and
// comecei, dirigir and dirijo.
func portugueseSpelt(core string) []string {
	for _, pair := range [...][2]string{{"qu", "c"}, {"gu", "g"}, {"ç", "c"}, {"c", "qu"}, {"g", "gu"}, {"g", "j"}, {"c", "ç"}, {"j", "g"}} {
		start, ok := strings.CutSuffix(core, pair[0])
		if !ok {
			continue
		}
		out := []string{core, start + pair[1]}
		switch pair[0] {
		case "c":
			out = append(out, start+"ç")
		case "g":
			out = append(out, start+"j")
		}
		return out
	}
	return []string{core}
}
