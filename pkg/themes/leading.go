package themes

import "strings"

// leadingWords gives the words of a language that stand before what is talked
// about: articles, words that point or own, prepositions. What people say with
// such a word before it is more often a thing than a doing or a manner.
// Common knowledge of grammar, no source; none for other languages.
func leadingWords(language string) map[string]bool {
	line := ""
	switch language {
	case "en":
		line = "the a an this that these those my your our their its his her some any of for in on with about each every another no"
	case "de":
		line = "der die das den dem des ein eine einen einem einer eines dieser diese dieses diesen diesem mein meine meinen dein" +
			" deine unser unsere ihr ihre sein seine kein keine keinen jeder jede jedes von für in im auf mit über zum zur am vom beim ans ins"
	case "fr":
		line = "le la les un une des du de ce cet cette ces mon ma mes ton ta tes son sa ses notre nos votre vos leur leurs au aux" +
			" en dans sur avec pour chaque aucun aucune"
	case "es":
		line = "el la los las un una unos unas este esta estos estas ese esa esos esas mi mis tu tus su sus nuestro nuestra nuestros" +
			" nuestras del al de en con por para sobre cada ningún ninguna algún alguna"
	case "it":
		line = "il lo la i gli le un uno una questo questa questi queste quello quella quei del dello della dei degli delle al allo" +
			" alla ai agli alle nel nella nei nelle sul sulla sui dal dalla con per su di mio mia tuo tua suo sua nostro nostra ogni"
	case "nl":
		line = "de het een deze dit die dat mijn jouw je zijn haar ons onze jullie hun geen elke elk van voor in op met over aan bij naar"
	case "pt":
		line = "o a os as um uma uns umas este esta estes estas esse essa esses essas meu minha teu tua seu sua nosso nossa do da dos" +
			" das no na nos nas ao à pelo pela de em com por para sobre cada nenhum nenhuma"
	}
	return setOf(line)
}

// joiningWords gives the words that join two things to one phrase, beside the
// leading words.
func joiningWords(language string) map[string]bool {
	switch language {
	case "en":
		return setOf("and or to")
	case "de":
		return setOf("und oder zu")
	case "fr":
		return setOf("et ou à")
	case "es":
		return setOf("y e o a")
	case "it":
		return setOf("e ed o a da")
	case "nl":
		return setOf("en of te")
	case "pt":
		return setOf("e ou a")
	}
	return nil
}

// numberWords gives words for numbers, which start no phrase: "five minutes".
func numberWords(language string) map[string]bool {
	switch language {
	case "en":
		return setOf("two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen" +
			" eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand million billion" +
			" second third fourth fifth half")
	case "de":
		return setOf("zwei drei vier fünf sechs sieben acht neun zehn elf zwölf zwanzig dreißig hundert tausend halb halbe")
	case "fr":
		return setOf("deux trois quatre cinq six sept huit neuf dix onze douze vingt trente cent mille demi")
	case "es":
		return setOf("dos tres cuatro cinco seis siete ocho nueve diez once doce veinte treinta cien mil medio media")
	case "it":
		return setOf("due tre quattro cinque sei sette otto nove dieci undici dodici venti trenta cento mille mezzo mezza")
	case "nl":
		return setOf("twee drie vier vijf zes zeven acht negen tien elf twaalf twintig dertig honderd duizend half halve")
	case "pt":
		return setOf("dois duas três quatro cinco seis sete oito nove dez onze doze vinte trinta cem mil meio meia")
	}
	return nil
}

func setOf(line string) map[string]bool {
	words := map[string]bool{}
	for _, w := range strings.Fields(line) {
		words[w] = true
	}
	return words
}
