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

// Sized is a stack with its parts as wide as the set knows them now: a part that
// was measured since the stack was loaded has its new size, in the sum and in what
// the model says of its error. A part that stands in the set no longer keeps its own.
func (s Set) Sized(stack Stack) Stack {
	if stack.Outer.Nominal == s.Outer.Nominal {
		stack.Outer = s.Outer.Part()
	}
	size := func(p *Part, q Part) {
		if p.Nominal == q.Nominal {
			*p = q
		}
	}
	stack.Chippers = slices.Clone(stack.Chippers)
	for i := range stack.Chippers {
		for _, c := range s.Chippers {
			size(&stack.Chippers[i], c.Part())
		}
	}
	stack.Gaps = slices.Clone(stack.Gaps)
	for g := range stack.Gaps {
		stack.Gaps[g] = slices.Clone(stack.Gaps[g])
		for i := range stack.Gaps[g] {
			for _, c := range s.Shims {
				size(&stack.Gaps[g][i], c.Part())
			}
		}
	}
	return stack
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

// Equal says whether two stacks of one set have the same parts in the same places,
// by their nominal sizes: a part stays what it is when it is measured.
func (s Stack) Equal(o Stack) bool {
	return slices.EqualFunc(s.Pieces(), o.Pieces(), Piece.Same)
}

// SamePieces says whether two stacks of one set have the same parts, in whatever places.
func (s Stack) SamePieces(o Stack) bool {
	same := func(a, b Count) bool { return a.Nominal == b.Nominal && a.N == b.N }
	return s.Outer.Nominal == o.Outer.Nominal &&
		slices.EqualFunc(CountParts(s.Chippers), CountParts(o.Chippers), same) &&
		slices.EqualFunc(CountParts(s.Shims()), CountParts(o.Shims()), same)
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

// Same says whether two pieces of one set are alike, whatever was measured between.
func (p Piece) Same(o Piece) bool { return p.Kind == o.Kind && p.Part.Nominal == o.Part.Nominal }

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
	for same < len(from) && same < len(want) && from[same].Same(want[same]) {
		same++
	}
	return len(from) - same
}
