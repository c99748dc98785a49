// Package review tells how an interview went: which sayings ask, how they ask,
// who asks, and which passages of an answer can be used as they stand.
//
// It judges by rules that can be read and shown, part by part; it hides
// nothing and changes nothing, it only marks and orders. It doesn't
// understand what is said, reads no file and keeps no state.
//
// # Sources
//
// Kinds of question: the dialogue acts of Jurafsky, Shriberg and Biasca 1997
// (yes/no, wh-, or-, declarative, tag and rhetorical questions; recalled from
// memory), against whose labels on telephone talk the rules are measured; see
// TestTelephoneQuestions. Word order of questions in other languages: school
// grammar. What makes a passage quotable: common practice, no source.
package review
