package review

import "strings"

// grammars are the languages with rules beside English, by their tag.
func grammars() map[string]*grammar {
	return map[string]*grammar{
		"de": german(), "nl": dutch(), "fr": french(), "es": spanish(), "it": italian(), "pt": portuguese(),
	}
}

func german() *grammar {
	return &grammar{
		asking: set(`was wer wen wem wessen wo wohin woher wann warum wieso weshalb weswegen wie welche welcher welches welchen welchem
			wieviel wieviele wofür womit woran worauf worum wozu wodurch worüber wovon wovor worin`),
		verbSecond: true,
		verb: set(`ist sind war waren bist seid bin hast hat habt haben hatte hatten hattest wird wirst werden wurde wurden kann kannst können
			könnt konnte konntest konnten könnte könnten könntest muss musst müssen müsst musste mussten will willst wollen wollt wollte wollten
			möchte möchtest möchten darf darfst dürfen soll sollst sollen sollte sollten gibt gab geht kommt kommen machen macht wissen weiß
			glauben denken meinen finden kennen mögen würde würden wäre wären hätte hätten lässt bleibt stimmt sehen fühlen gehört tut`),
		subject: set("ich du er sie es wir ihr man der die das ein eine dein deine ihre unser unsere da jemand dieser diese dieses"),
		form: func(verb, subject string) bool {
			return subject == "du" && strings.HasSuffix(verb, "st")
		},
		opener:  set("und aber also ja nein gut okay ok ach äh ähm naja nun dann denn oder hm so"),
		tags:    []string{"oder", "nicht wahr", "ne", "nicht", "gell", "richtig", "stimmt's", "oder nicht", "ja"},
		or:      "oder",
		leading: []string{" würdest du sagen ", " würden sie sagen ", " findest du nicht ", " finden sie nicht ", " meinst du nicht ", " ist es nicht so ", " sicher "},
		not:     []string{" wie gesagt ", " wie auch immer ", " was mich ", " wer weiß ", " wie schön ", " ist gut ", " das "},
	}
}

func dutch() *grammar {
	return &grammar{
		asking:     set("wat wie waar wanneer waarom hoe welke welk hoeveel waarheen waarmee waarvoor waaraan waarover waarvan waarop wiens"),
		verbSecond: true,
		verb: set(`is zijn was waren ben bent heb hebt heeft hebben had hadden kan kunt kun kunnen kon konden zal zul zult zullen zou zouden
			moet moeten moest mag mogen wil wilt willen wilde wilden gaat gaan ga ging doe doet denk denkt vind vindt weet kom komt woon woont
			blijft wordt werd worden geloof gelooft ken kent zie ziet hoor hoort`),
		subject: set("ik je jij u hij zij ze we wij jullie men dat dit er de een die deze iemand mijn jouw uw haar"),
		form: func(_, subject string) bool {
			return subject == "jij"
		},
		opener:  set("en maar dus ja nee goed oké ok nou ach eh uh dan of want"),
		tags:    []string{"toch", "hè", "niet waar", "nietwaar", "of niet", "niet", "zeker"},
		or:      "of",
		leading: []string{" zou je zeggen ", " zou u zeggen ", " vind je niet ", " vindt u niet ", " denk je niet "},
		not:     []string{" hoe dan ook ", " wat mij ", " wie weet ", " wat een "},
	}
}

func french() *grammar {
	return &grammar{
		asking: set("pourquoi comment combien quel quelle quels quelles lequel laquelle lesquels lesquelles où"),
		unsure: set("qui quand que quoi"),
		verb:   set(""), subject: set(""),
		form: func(verb, subject string) bool {
			return inverted(verb) || (oneOf(verb, "qui", "quand", "que", "où", "qu'en", "qu'y") && inverted(subject))
		},
		opener:  set("et mais alors donc oui non bon bien ben euh ah oh voilà puis ou"),
		phrases: []string{" qu'est-ce ", " qu'est ce ", " qui est-ce ", " de quoi ", " à quoi ", " depuis quand "},
		marks:   []string{" est-ce que ", " est-ce qu'", " est ce que ", " est ce qu'"},
		tags:    []string{"n'est-ce pas", "hein", "non", "pas vrai", "d'accord", "c'est ça", "oui"},
		or:      "ou",
		leading: []string{" n'est-ce pas ", " diriez-vous ", " dirais-tu ", " ne pensez-vous pas ", " ne penses-tu pas ", " ne trouvez-vous pas "},
		not:     []string{" quelle belle ", " quel beau ", " quel dommage ", " comment dire ", " quelle horreur ", " où que "},
	}
}

// inverted tells that a French verb carries its subject behind a hyphen and
// is neither a command nor "he said".
func inverted(w string) bool {
	for _, not := range []string{"dit-", "fit-", "demanda-", "répond-", "rendez-vous", "asseyez-vous", "taisez-vous", "imaginez-vous", "souvenez-vous", "allons-nous", "peut-être"} {
		if strings.HasPrefix(w, not) {
			return false
		}
	}
	for _, end := range []string{"-tu", "-vous", "-il", "-elle", "-on", "-nous", "-ils", "-elles", "-je", "-ce"} {
		if strings.HasSuffix(w, end) {
			return true
		}
	}
	return false
}

func spanish() *grammar {
	return &grammar{
		asking:  set("qué quién quiénes cómo cuándo dónde adónde cuál cuáles cuánto cuánta cuántos cuántas"),
		unsure:  set("que quien como cuando donde cual cuanto"),
		verb:    set("eres es está estás son fue era puede puedes quiere quieres cree crees tiene tienes hay sabe sabes ha has"),
		subject: set("usted tú ustedes vosotros él ella ellos"),
		opener:  set("y pero entonces bueno sí no pues eh ah o a ver mira oye"),
		phrases: []string{" por qué ", " para qué ", " a qué ", " de qué ", " con quién "},
		tags:    []string{"verdad", "no", "cierto", "no es así", "no es verdad", "eh", "correcto", "sí"},
		or:      "o",
		leading: []string{" no crees ", " no cree ", " no te parece ", " no le parece ", " dirías ", " diría usted "},
		not:     []string{" qué bueno ", " qué bien ", " qué pena ", " qué bonito ", " qué va ", " cómo no "},
	}
}

func italian() *grammar {
	return &grammar{
		asking: set("chi cosa dove quale quali quanto quanta quanti quante qual com'è cos'è dov'è qual'è cos'era com'era dov'era"),
		unsure: set("che come quando perché"),
		verb:   set(""), subject: set(""),
		opener:  set("e ma allora quindi sì no bene beh eh ah o ecco senti senta dunque"),
		phrases: []string{" che cosa ", " come mai ", " perché mai ", " che ne pens", " come stai ", " come sta ", " come si ", " come ti ", " da quanto tempo ", " a che ora "},
		tags:    []string{"vero", "no", "giusto", "eh", "non è vero", "non è così"},
		or:      "o",
		leading: []string{" non è vero ", " non pensi ", " non pensa ", " non credi ", " non crede ", " diresti ", " direbbe "},
		not:     []string{" chi lo sa ", " che bello ", " chi sa "},
	}
}

func portuguese() *grammar {
	return &grammar{
		asking: set("quem onde qual quais quanto quanta quantos quantas aonde porquê"),
		unsure: set("que como quando porque o"),
		verb:   set(""), subject: set(""),
		opener:  set("e mas então bom bem sim não ah eh ou pois olha"),
		phrases: []string{" o que é ", " quando é que ", " como é que ", " que é que ", " por que ", " por quê ", " para quê ", " o que você ", " o que tu ", " o que acha ", " o que a ", " como é ", " como está ", " como foi ", " como se sente "},
		tags:    []string{"não é", "né", "certo", "não", "não é verdade", "verdade", "pois não"},
		or:      "ou",
		leading: []string{" não é ", " não acha ", " não achas ", " não pensa ", " diria ", " dirias "},
		not:     []string{" quem sabe ", " qual quê ", " é que "},
	}
}
