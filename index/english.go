package index

import "strings"

// irregularForms lists English forms that no rule of endings leads back to
// their base, as form:base. Forms that are more often a word of their own
// (wound, ground, bound, rose, lay, fell, bore) are left out; saw, left, found
// and felt are accepted. Common knowledge, no source.
const irregularForms = " rang:ring rung:ring sang:sing sung:sing swam:swim swum:swim began:begin begun:begin drank:drink" +
	" drunk:drink sank:sink sunk:sink ran:run came:come became:become went:go gone:go goes:go took:take" +
	" taken:take gave:give given:give spoke:speak spoken:speak broke:break broken:break chose:choose" +
	" chosen:choose drove:drive driven:drive rode:ride ridden:ride wrote:write written:write fallen:fall" +
	" known:know knew:know grew:grow grown:grow threw:throw thrown:throw flew:fly flown:fly drew:draw" +
	" drawn:draw blew:blow blown:blow saw:see seen:see ate:eat eaten:eat forgot:forget forgotten:forget" +
	" got:get gotten:get heard:hear held:hold kept:keep slept:sleep wept:weep felt:feel dealt:deal" +
	" meant:mean met:meet led:lead lost:lose left:leave made:make paid:pay said:say told:tell sold:sell" +
	" sent:send spent:spend built:build bought:buy brought:bring caught:catch fought:fight taught:teach" +
	" thought:think sought:seek found:find stood:stand understood:understand sat:sit won:win hung:hang" +
	" stuck:stick dug:dig swung:swing tore:tear torn:tear wore:wear worn:wear swore:swear sworn:swear" +
	" stole:steal stolen:steal froze:freeze frozen:freeze woke:wake woken:wake hid:hide hidden:hide" +
	" bitten:bite shook:shake shaken:shake children:child women:woman men:man feet:foot teeth:tooth" +
	" geese:goose mice:mouse wives:wife knives:knife "

// irregularEnglish gives the base of an irregular form, "ring" for "rang" and
// "rung"; "" for every other word.
func irregularEnglish(w string) string {
	if len(w) < 3 || len(w) > len("understood") {
		return ""
	}
	_, rest, ok := strings.Cut(irregularForms, " "+w+":")
	if !ok {
		return ""
	}
	base, _, _ := strings.Cut(rest, " ")
	return base
}
