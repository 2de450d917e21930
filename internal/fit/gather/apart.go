package gather

// Apart sets every fourth scene apart: what was found there checks what the others teach.
func Apart[T any](all []T, scene func(T) int) (train, rest []T) {
	for _, e := range all {
		if scene(e)%4 == 3 {
			rest = append(rest, e)
		} else {
			train = append(train, e)
		}
	}
	return train, rest
}
