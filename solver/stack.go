package solver

import "slices"

// Stack is what is loaded on the arbor. Chippers are in loading order from the
// inner flange; Gaps has one entry more, the shims between neighbouring cutters
// in the same order, the last gap being the one at the blade next to the nut.
type Stack struct {
	Outer    Part     `json:"outer"`
	Chippers []Part   `json:"chippers"`
	Gaps     [][]Part `json:"gaps"`
}

// Sum is what the parts add up to: outer pair, chippers and shims.
func (s Stack) Sum() Length {
	sum := s.Outer.Size
	for _, c := range s.Chippers {
		sum += c.Size
	}
	for _, g := range s.Gaps {
		sum += partsSum(g)
	}
	return sum
}

// Shims are all shims of the stack, thickest first.
func (s Stack) Shims() []Part {
	var out []Part
	for _, g := range s.Gaps {
		out = append(out, g...)
	}
	slices.SortStableFunc(out, thickerFirst)
	return out
}

// WidestGap is the sum of the shims in the gap that is opened most.
func (s Stack) WidestGap() Length {
	var widest Length
	for _, g := range s.Gaps {
		widest = max(widest, partsSum(g))
	}
	return widest
}

// Equal says whether two stacks have the same parts in the same places.
func (s Stack) Equal(o Stack) bool {
	return s.Outer == o.Outer && slices.Equal(s.Chippers, o.Chippers) &&
		slices.EqualFunc(s.Gaps, o.Gaps, slices.Equal[[]Part])
}

// Count is a part and how many of it there are.
type Count struct {
	Part
	N int
}

// CountParts groups parts by nominal size, thickest first.
func CountParts(parts []Part) []Count {
	sorted := slices.Clone(parts)
	slices.SortStableFunc(sorted, thickerFirst)
	var out []Count
	for _, p := range sorted {
		if n := len(out); n > 0 && out[n-1].Part == p {
			out[n-1].N++
		} else {
			out = append(out, Count{p, 1})
		}
	}
	return out
}

func thickerFirst(a, b Part) int {
	switch {
	case a.Size != b.Size:
		return sign(b.Size - a.Size)
	default:
		return sign(b.Nominal - a.Nominal)
	}
}

func sign(l Length) int {
	switch {
	case l < 0:
		return -1
	case l > 0:
		return 1
	}
	return 0
}

func partsSum(parts []Part) Length {
	var sum Length
	for _, p := range parts {
		sum += p.Size
	}
	return sum
}

// Piece is one thing on the arbor in loading order.
type Piece struct {
	Kind PieceKind
	Part Part
}

// PieceKind tells the pieces of a stack apart.
type PieceKind uint8

// The kinds of piece. The two outer blades are told apart by their place.
const (
	FlangeBlade PieceKind = iota // the outer blade at the inner flange
	ChipperPiece
	ShimPiece
	NutBlade // the outer blade at the nut
)

// Pieces lists the stack from the inner flange to the nut. Both outer blades
// carry the pair's part.
func (s Stack) Pieces() []Piece {
	out := []Piece{{FlangeBlade, s.Outer}}
	for i, gap := range s.Gaps {
		for _, p := range gap {
			out = append(out, Piece{ShimPiece, p})
		}
		if i < len(s.Chippers) {
			out = append(out, Piece{ChipperPiece, s.Chippers[i]})
		}
	}
	return append(out, Piece{NutBlade, s.Outer})
}

// TakenOff is how many pieces of stack s come off the arbor before it can
// become stack to: all that lie on the nut's side of the first difference.
func (s Stack) TakenOff(to Stack) int {
	from, want := s.Pieces(), to.Pieces()
	same := 0
	for same < len(from) && same < len(want) && from[same] == want[same] {
		same++
	}
	return len(from) - same
}
