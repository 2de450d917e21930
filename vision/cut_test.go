package vision

import (
	"testing"
)

func TestTheModelOfCutsIsTheOneOfTheseFeatures(t *testing.T) {
	m, err := loadCuts()
	if err != nil {
		t.Fatal(err)
	}
	if m.Fitted == "" {
		t.Error("it does not say how it was fitted")
	}
}

// A narrow neck between two round things, hollow on both sides and dark, is a cut; a shallow dent in one thing is none.
func TestPlainCutsAndPlainDents(t *testing.T) {
	m, err := loadCuts()
	if err != nil {
		t.Fatal(err)
	}
	neck := []float64{-0.8, -0.9, 1.6, 1.4, 0.2, 0.82, 0.15, -0.8, 1.2, 0.6, 0.9, 0.3, 0.2, 0.5, 0.4, 0.6, 0.9, 0.05, 0}
	dent := []float64{0.05, -0.05, 0.5, -0.2, 0.45, 0.94, 0.0, -1.2, 0.8, 1.2, 0.4, 0.3, 0.01, 0.02, -0.1, 0.2, 0.9, 0.05, 0}
	if p := m.Probability(neck); p < 0.8 {
		t.Errorf("the neck is a cut with %.2f", p)
	}
	if p := m.Probability(dent); p > 0.2 {
		t.Errorf("the dent is a cut with %.2f", p)
	}
}
