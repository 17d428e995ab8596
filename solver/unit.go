package solver

// Unit is the unit a length was given in, or is to be written in.
type Unit uint8

// The units a member can choose. Centimetres are read, and kept as millimetres.
const (
	InchUnit Unit = iota
	MillimetreUnit
)

// String is the unit's short name: "in" or "mm".
func (u Unit) String() string {
	if u == MillimetreUnit {
		return "mm"
	}
	return "in"
}

// other is the unit that a bare number may have been meant in instead.
func (u Unit) other() Unit {
	if u == MillimetreUnit {
		return InchUnit
	}
	return MillimetreUnit
}

// one is the length of one such unit.
func (u Unit) one() Length {
	if u == MillimetreUnit {
		return Millimetre
	}
	return Inch
}

// Notation is how a length is written: 0.71875 or 23/32.
type Notation uint8

// The notations. Only inches are written as fractions.
const (
	Decimals Notation = iota
	Fractions
)

// Style is how a member writes lengths.
type Style struct {
	Unit     Unit
	Notation Notation
}
