package themes

import "strings"

// Words that are made from each other share a family as inflected forms do:
// ring and ringer, transcribe and transcription. Stemming joins most of them;
// these endings of stems are what it leaves apart. Common knowledge of word
// formation, no source; a pair is only joined where both are said.
const (
	derivedEnglish = " :er :or e:er :ist :ism :ship :hood :man :men :woman :less :age :ward :wards :like :eri i:ier" +
		" ib:ipt is:it iz:it nd:ns uc:uct ceiv:cept olv:olut id:is "
	derivedGerman = " :er :erin :in :ung :schaft :chen :lein :lich :los :haft :bar "
	derivedDutch  = " :er :ster :ing :schap :heid :loos :baar "
)

// derivedLeast is the least letters that both stems start with.
const derivedLeast = 4

// notDerived are English pairs that only look as if they were.
const notDerived = " numb:number corn:corner mast:master quart:quarter cent:center show:shower flow:flower tow:tower" +
	" pant:panther temp:temper prop:proper prim:primer mess:message pass:passage mort:mortgage band:bandage" +
	" head:header tend:tens mend:mens form:former late:later bore:border lump:lumper chart:charter post:poster" +
	" past:pastor tank:tanker bank:banker hang:hanger pitch:pitcher mini:minist fore:foreman moth:mother" +
	" ward:warder lett:letter matt:matter batt:batter butt:butter mann:manner coll:collage vill:village" +
	" fact:factor sect:sector vect:vector mess:messer fath:father broth:brother wint:winter summ:summer" +
	" wait:waiter bunk:bunker hung:hunger count:counter plan:planer cove:cover rive:river powe:power wate:water "

// joinBases joins the families of words with those of words that they are
// forms of, where both are said.
func (c *corpus) joinBases(bases func(language, word string) []string) {
	if bases == nil {
		return
	}
	for form, text := range c.formText {
		f := c.root(c.familyOf[form])
		l := c.families[f].lang
		for _, base := range bases(l.name, text) {
			if of, said := l.forms[base]; said {
				c.join(c.familyOf[of], f)
			}
		}
	}
}

// joinDerived joins the families of words made from each other.
func (c *corpus) joinDerived() {
	for _, l := range c.langs {
		table := ""
		switch l.name {
		case "en":
			table = derivedEnglish
		case "de":
			table = derivedGerman
		case "nl":
			table = derivedDutch
		default:
			continue
		}
		rules := [][2]string{}
		for _, r := range strings.Fields(table) {
			from, to, _ := strings.Cut(r, ":")
			rules = append(rules, [2]string{from, to})
		}
		c.joinBy(l, rules)
	}
}

// joinBy joins the families of one language by endings.
func (c *corpus) joinBy(l *language, rules [][2]string) {
	for f := range c.families {
		stem := c.families[f].stem
		if c.families[f].lang != l || len(stem) <= derivedLeast {
			continue
		}
		for _, r := range rules {
			start, ok := strings.CutSuffix(stem, r[1])
			if !ok || len(start) < derivedLeast {
				continue
			}
			base, ok := l.families[start+r[0]]
			if !ok || l.name == "en" && strings.Contains(notDerived, " "+start+r[0]+":"+stem+" ") {
				continue
			}
			c.join(base, int32(f))
		}
	}
}

// join moves the forms of family b to a, unless either means nothing by
// itself.
func (c *corpus) join(a, b int32) {
	a, b = c.root(a), c.root(b)
	if a == b || c.families[a].stop || c.families[b].stop {
		return
	}
	for _, form := range c.families[b].forms {
		c.familyOf[form] = a
	}
	c.families[a].inflected = max(c.families[a].inflections(), c.families[b].inflections())
	c.families[a].forms = append(c.families[a].forms, c.families[b].forms...)
	c.families[a].count += c.families[b].count
	c.families[a].joined = append(c.families[a].joined, c.families[b].stem)
	c.families[a].joined = append(c.families[a].joined, c.families[b].joined...)
	c.families[b] = family{lang: c.families[b].lang, stem: c.families[b].stem, into: a + 1}
}

// root gives the family that a family was joined to, or itself.
func (c *corpus) root(f int32) int32 {
	for c.families[f].into > 0 {
		f = c.families[f].into - 1
	}
	return f
}

// inflections is how many forms the word has that a family was made of first,
// or the one with most.
func (f *family) inflections() int {
	if f.inflected > 0 {
		return f.inflected
	}
	return len(f.forms)
}
