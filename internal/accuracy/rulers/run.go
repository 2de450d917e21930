package rulers

import (
	"math"
	"slices"
	"sync"
)

// Summary tells how a ruler did.
type Summary struct {
	Ruler  Ruler
	Scores []Score
}

// Run measures so many scenes of a ruler, the first with the seed.
func Run(ruler Ruler, seed uint64, scenes, workers int) (Summary, error) {
	scores, err := each(scenes, workers, func(i int) (Score, error) {
		s, err := ruler.Draw(seed+uint64(i), Small).Measure()
		s.Seed = seed + uint64(i)
		return s, err
	})
	return Summary{ruler, scores}, err
}

// each runs f for 0 to n-1, some at a time.
func each[T any](n, workers int, f func(i int) (T, error)) ([]T, error) {
	out, faults := make([]T, n), make([]error, n)
	next := make(chan int)
	var wait sync.WaitGroup
	for range workers {
		wait.Go(func() {
			for i := range next {
				out[i], faults[i] = f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
	for _, err := range faults {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// over gathers a number of each scene in which a scale was found.
func (s Summary) over(of func(Score) float64) (out []float64) {
	for _, x := range s.Scores {
		if v := of(x); x.Problem == "" && !math.IsNaN(v) {
			out = append(out, v)
		}
	}
	return out
}

// Found is the share of scenes in which a scale was found.
func (s Summary) Found() float64 {
	return float64(len(s.over(func(Score) float64 { return 0 }))) / float64(len(s.Scores))
}

// share is the share of scenes with a scale that fulfil a condition.
func (s Summary) share(of func(Score) bool) float64 {
	n := s.over(func(x Score) float64 {
		if of(x) {
			return 1
		}
		return 0
	})
	sum := 0.0
	for _, v := range n {
		sum += v
	}
	return sum / float64(len(n))
}

// False is the number of scenes whose scale is off by a twentieth or more, farther than its interval says: a wrong pitch.
func (s Summary) False() (n int) {
	for _, x := range s.Scores {
		if x.Problem == "" && math.Abs(x.Error) > 0.05 && !x.Holds() {
			n++
		}
	}
	return n
}

// corners gathers the marks' distances over all scenes.
func (s Summary) corners() (out []float64) {
	for _, x := range s.Scores {
		out = append(out, x.Marks...)
	}
	return out
}

// quantile of the values' sizes, between neighbours; NaN for none.
func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	s := make([]float64, len(v))
	for i, x := range v {
		s[i] = math.Abs(x)
	}
	slices.Sort(s)
	at := q * float64(len(s)-1)
	i := min(int(at), len(s)-2)
	if i < 0 {
		return s[0]
	}
	return s[i] + (at-float64(i))*(s[i+1]-s[i])
}
