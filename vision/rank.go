package vision

import "cmp"

// ranked is the value that would be at place k, from 0, if v were sorted; it changes the order of v, which holds numbers only (Hoare 1961, Commun. ACM 4:321).
func ranked[T cmp.Ordered](v []T, k int) T {
	lo, hi := 0, len(v)-1
	for lo < hi {
		pivot := middleOf(v[lo], v[lo+(hi-lo)/2], v[hi])
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return v[k]
		}
	}
	return v[k]
}

func middleOf[T cmp.Ordered](a, b, c T) T { return max(min(a, b), min(max(a, b), c)) }
