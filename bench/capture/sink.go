package capture

// sink collects a column in pieces, so that a long one is copied once and never lies in memory half empty.
type sink struct {
	pieces [][]float64
	count  int
}

const (
	firstPiece = 1 << 8
	growing    = 4 // pieces, each four times the one before
	nextPiece  = firstPiece << (2 * growing)
)

func (s *sink) add(v float64) {
	last := len(s.pieces) - 1
	if last < 0 || len(s.pieces[last]) == cap(s.pieces[last]) {
		size := nextPiece
		if n := len(s.pieces); n < growing {
			size = firstPiece << (2 * n)
		}
		s.pieces = append(s.pieces, make([]float64, 0, size))
		last++
	}
	s.pieces[last] = append(s.pieces[last], v)
	s.count++
}

// same reports whether all values so far are equal.
func (s *sink) same() bool {
	for _, piece := range s.pieces {
		for _, v := range piece {
			if v != s.pieces[0][0] {
				return false
			}
		}
	}
	return true
}

// join gives the column in one slice and empties the sink.
func (s *sink) join() []float64 {
	all := make([]float64, 0, s.count)
	for i, piece := range s.pieces {
		all = append(all, piece...)
		s.pieces[i] = nil
	}
	*s = sink{}
	return all
}
