// Package words is how the program speaks: the language of its texts, the form of its numbers, and the units of its lengths,
// masses and volumes.
//
// A text in the code is its English wording, which is also its key, as in w.T("%d of %d photos were refused", 2, 9). The language
// files in lang/ hold the other languages' wording for each. What other rooms hand over as finished English sentences (advice, the
// reason of a refusal, a check's advice) is found again by [Words.Say]: a key with verbs or with {{.facts}} stands for every
// sentence of its form. So the measurement documents stay English and metric whatever the language.
//
// Lengths come in mm, areas in mm², masses in g and volumes in litres. A nil *Words speaks English with metric units.
package words
