// Package pipeline joins the stages: photo files -> scale -> particles -> estimates -> judgement ->
// measurement document. It alone knows the order; each stage is a function from values to values,
// held in [Stages], so that tests put others in their place.
package pipeline
