package shape

// simple tells, for the 8 neighbours of a cell as bits in the order of grid.ring, whether the cell can go
// without parting or joining anything: the connectivity number of Yokoi, Toriwaki & Fukumura 1975
// (Comput. Graph. Image Process. 4:63) for 8-connected pieces is 1.
var simple = func() (t [256]bool) {
	for bits := range t {
		out := func(k int) int { return 1 - bits>>(k&7)&1 }
		number := 0
		for k := 0; k < 8; k += 2 {
			number += out(k) - out(k)*out(k+1)*out(k+2)
		}
		t[bits] = number == 1
	}
	return t
}()

// longestPath thins the piece to one line between the two cells that are farthest apart within it, and
// returns the cells' centres in order.
func (g *grid) longestPath() []XY {
	a := g.sweep(g.cells[0])
	b := g.sweep(a)
	g.thin(a, b)
	return g.follow(a, b)
}

// thin removes all cells but one line from a to b, the ones nearest the edge first.
func (g *grid) thin(a, b int32) {
	order, starts := g.byDepth()
	var left []int32
	for d := 1; d < len(starts); d++ {
		left = append(left, order[starts[d-1]:starts[d]]...)
		for removed := true; removed; {
			removed = false
			kept := left[:0]
			for _, i := range left {
				if i != a && i != b && simple[g.around(i)] {
					g.in[i] = 0
					removed = true
				} else {
					kept = append(kept, i)
				}
			}
			left = kept
		}
	}
}

// byDepth sorts the cells by their depth; level d ends at starts[d].
func (g *grid) byDepth() (order, starts []int32) {
	deepest := int32(0)
	for _, i := range g.cells {
		deepest = max(deepest, g.depth[i])
	}
	starts = make([]int32, deepest+2)
	for _, i := range g.cells {
		starts[g.depth[i]+1]++
	}
	for d := 1; d < len(starts); d++ {
		starts[d] += starts[d-1]
	}
	order = make([]int32, len(g.cells))
	for _, i := range g.cells {
		order[starts[g.depth[i]]] = i
		starts[g.depth[i]]++
	}
	return order, starts
}

// around are the neighbours of a cell as bits.
func (g *grid) around(i int32) (bits uint8) {
	for k, step := range g.ring {
		bits |= g.in[i+step] << k
	}
	return bits
}

// follow walks the thinned line from a to b.
func (g *grid) follow(a, b int32) []XY {
	path := []XY{g.centre(a)}
	for i := a; i != b; {
		g.in[i] = 0
		next := int32(-1)
		for k := 0; k < 8; k++ {
			// straight neighbours before diagonal ones, so that no cell is jumped
			if j := i + g.ring[(2*k)%8+k/4]; g.in[j] != 0 {
				next = j
				break
			}
		}
		if next < 0 {
			break
		}
		path = append(path, g.centre(next))
		i = next
	}
	return path
}
