package multiaffine

// Walker takes a view through the combinations of a plan. It is scratch for one goroutine, to be used again and again.
type Walker struct {
	levels   [][]complex128 // matrices with 0, 1, 2, … contacts settled
	function Function
}

// Walk calls visit for every combination of the plan, in the plan's own order, with its number in the caller's list and
// its network function, which is valid until visit returns. It stops early where visit returns false.
// View and plan must be of one model.
//
// A contact is settled by eliminating its port from the matrix. Combinations that begin alike share the elimination.
func (w *Walker) Walk(v *View, p *Plan, visit func(combination int, f *Function) bool) {
	w.lay(v)
	n := p.contacts
	w.function.degrees, w.function.columns, w.function.w = v.knobs.degrees, v.knobs.columns, w.levels[n]
	for i, c := range p.order {
		states := p.states[c*n : c*n+n]
		merges := p.merges[i]
		for k := p.shared[i]; k < n; k++ {
			if states[k] == merged {
				w.merge(v, k, merges[0])
				merges = merges[1:]
			} else {
				w.settle(v, k, states[k])
			}
		}
		if !visit(c, &w.function) {
			return
		}
	}
}

// lay makes room for the levels, and fills the first.
func (w *Walker) lay(v *View) {
	size := v.contacts + len(v.knobs.columns) + 1
	for len(w.levels) <= v.contacts {
		w.levels = append(w.levels, nil)
	}
	w.levels[0] = v.knobs.w
	for k := 1; k <= v.contacts; k++ {
		w.levels[k] = room(w.levels[k], (size-k)*(size-k))
	}
}

// settle leaves a contact open or closes a loop by it, from level k to level k+1.
func (w *Walker) settle(v *View, k int, s state) {
	m := v.contacts + len(v.knobs.columns) + 1 - k
	from, to := w.levels[k][:m*m], w.levels[k+1][:(m-1)*(m-1)]
	if s == looped { // no voltage: α = 0, δ = 1
		eliminate(from, to, m, reciprocal(from[0]))
	} else { // no current: δ = 0
		drop(from, to, m)
	}
}

// merge closes a contact that ties a free piece, from level k to level k+1: what other ports bring into the piece comes
// back through this one, and what it has for voltage is no one's.
func (w *Walker) merge(v *View, k int, touched []touch) {
	m := v.contacts + len(v.knobs.columns) + 1 - k
	from, to := w.levels[k][:m*m], w.levels[k+1][:(m-1)*(m-1)]
	drop(from, to, m)
	for _, t := range touched {
		row := to[(t.port-k-1)*(m-1):][:m-1]
		for j := range row {
			row[j] += t.sign * from[1+j]
		}
	}
	for _, t := range touched {
		at := t.port - k - 1
		for i := range m - 1 {
			to[i*(m-1)+at] += t.sign * from[(i+1)*m]
		}
	}
	for _, t := range touched {
		for _, u := range touched {
			to[(t.port-k-1)*(m-1)+u.port-k-1] += t.sign * u.sign * from[0]
		}
	}
}
