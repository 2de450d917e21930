// Package advice holds the targets (data, each line with its source), judges a sample against them
// and names what to change on the machine, with cautions.
//
// The verdicts follow three rules, written at [Judge]. The targets are targets.yaml and the rules of
// advice rules.yaml, both built in; a target file replaces the first. Nothing here promises an
// effect: a photo estimate is no laboratory result, and the manual and the dealer decide settings.
package advice
