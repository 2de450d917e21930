package advice

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"gristmark/internal/result"
)

// atMost is the number of changes named: more at once cannot be told apart afterwards.
const atMost = 3

// advise fires the rules and keeps the three with the most expected effect, one for each setting.
func advise(s *result.Sample, v result.Verdict, found []Finding, ctx Context, set TargetSet) []result.Advice {
	out := []result.Advice{}
	book := rules()
	known := gather(s, v, found, ctx, set)
	words := known.print(found)
	for _, r := range choose(book.Rules, known) {
		a, err := book.write(r, known, words)
		if err != nil {
			panic(fmt.Errorf("advice: rule %q: %w", r.ID, err)) // a rule names a fact it does not ask for: excluded by test
		}
		out = append(out, a)
	}
	return out
}

// choose returns the rules that fire, by falling effect and without a second one for a setting.
func choose(all []rule, known facts) []rule {
	var fired []rule
	for _, r := range all {
		if r.fires(known) {
			fired = append(fired, r)
		}
	}
	slices.SortStableFunc(fired, func(a, b rule) int { return b.Effect - a.Effect })
	taken := map[string]bool{}
	fired = slices.DeleteFunc(fired, func(r rule) bool {
		again := taken[r.Setting]
		taken[r.Setting] = true
		return again
	})
	return fired[:min(len(fired), atMost)]
}

// fires reports whether every condition holds and the move, if there is one, changes the setting.
func (r rule) fires(known facts) bool {
	for fact, c := range r.When {
		if !known.hold(fact, c) {
			return false
		}
	}
	if r.Move == nil {
		return true
	}
	from, ok := known.numbers[r.Move.Fact]
	return ok && r.Move.to(from) != from
}

func (b ruleBook) write(r rule, known facts, words map[string]string) (result.Advice, error) {
	words = maps.Clone(words)
	if r.Move != nil {
		words["to"] = plain(r.Move.to(known.numbers[r.Move.Fact]))
	}
	do, err := r.Do.fill(words)
	if err != nil {
		return result.Advice{}, err
	}
	why, err := r.Why.fill(words)
	if err != nil {
		return result.Advice{}, err
	}
	var cautions []string
	for _, c := range r.Caution {
		cautions = append(cautions, b.Cautions[c])
	}
	return result.Advice{Do: do, Why: why, Check: b.Checks[r.Check], Caution: strings.Join(cautions, " ")}, nil
}
