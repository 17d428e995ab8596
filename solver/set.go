package solver

// Part names a piece of a set by its nominal size and says what it adds to the
// width of a stack: its measured size where the shop has one, else the nominal.
type Part struct {
	Nominal Length `json:"nominal"`
	Size    Length `json:"size"`
}

// SetKind tells a stacked set from an ordinary blade, which cuts in passes.
type SetKind string

// The kinds of set.
const (
	Stacked SetKind = "stacked"
	Blade   SetKind = "blade"
)

// Set is what a shop owns and keeps together: two outer blades, chippers and
// shims; or, of kind Blade, one ordinary flat-top blade whose kerf stands in
// Outer. Zero values mean "not known". Within a set a nominal size names one
// line of Chippers and one of Shims; both are sorted by falling nominal size.
type Set struct {
	Kind     SetKind   `json:"kind"`
	Unit     Unit      `json:"unit"`
	Outer    OuterPair `json:"outer"`
	Chippers []Chipper `json:"chippers,omitempty"`
	Shims    []Shim    `json:"shims,omitempty"`
	Diameter Length    `json:"diameter,omitempty"`
	MaxRPM   int       `json:"max_rpm,omitempty"`
	MaxWidth Length    `json:"max_width,omitempty"` // the maker's limit; 0: DefaultMaxWidth
	Gap      GapLimits `json:"gap"`
	SoftOK   bool      `json:"soft_ok,omitempty"` // the shop allows shims that are no rigid rings
}

// OuterPair is the two outer blades, always used together and measured together:
// across the outward tips, or by a test groove. Plate and Tooth are of one blade.
type OuterPair struct {
	Nominal  Length `json:"nominal"`
	Measured Length `json:"measured,omitempty"`
	Plate    Length `json:"plate,omitempty"`
	Tooth    Length `json:"tooth,omitempty"`
	Teeth    int    `json:"teeth,omitempty"`
	Out      bool   `json:"out,omitempty"` // out of service
}

// Chipper is one size of inner cutter. What it adds to the width is its hub
// (plate) thickness: measured at the hub, since across the carbide it reads wide.
type Chipper struct {
	Nominal  Length `json:"nominal"`
	Measured Length `json:"measured,omitempty"`
	Tooth    Length `json:"tooth,omitempty"`
	Teeth    int    `json:"teeth,omitempty"`
	Count    int    `json:"count"`
	Out      int    `json:"out,omitempty"` // of Count, how many are out of service
}

// Shim is one thickness of shim.
type Shim struct {
	Nominal  Length   `json:"nominal"`
	Measured Length   `json:"measured,omitempty"`
	Material Material `json:"material,omitempty"`
	Count    int      `json:"count"`
	Out      int      `json:"out,omitempty"`
}

// Material is what a shim is made of.
type Material string

// Materials a shop may name. Only rigid full rings are used unless the shop
// allows others: tape, paper and lids creep, compress and fall into the thread.
const (
	Steel   Material = "steel"
	Brass   Material = "brass"
	Plastic Material = "plastic"
	Paper   Material = "paper"
	Tape    Material = "tape"
	Lid     Material = "lid"
)

// Rigid says whether shims of this material are rigid rings. The empty material is.
func (m Material) Rigid() bool {
	switch m {
	case Paper, Tape, Lid:
		return false
	}
	return true
}

// GapLimits bound the shims between two neighbouring cutters, so that no ridge
// stays on the floor. They hold where plate and tooth widths are not known.
type GapLimits struct {
	Chipper Length `json:"chipper"` // a chipper on at least one side
	Bare    Length `json:"bare"`    // the two outer blades, no chipper
	Count   int    `json:"count"`   // shims in one gap
}

// DefaultGapLimits are 0.032 in, 0.010 in and two shims [shop: a default that
// every shop can change; "at most two shims together" was read in one saw manual].
func DefaultGapLimits() GapLimits { return GapLimits{Chipper: 32 * Mil, Bare: 10 * Mil, Count: 2} }

// RidgeNote is the opening of one gap above which to look for a ridge [shop].
const RidgeNote = 20 * Mil

// DefaultMaxWidth is the usual upper limit of a stacked set, 1 in [cp].
const DefaultMaxWidth = Inch

// The largest set accepted.
const (
	MaxChippers     = 16
	MaxChipperSizes = 8
	MaxShims        = 40
	MaxShimSizes    = 12
)

// Part is the outer pair as a part of a stack.
func (o OuterPair) Part() Part { return part(o.Nominal, o.Measured) }

// Part is one chipper of this size as a part of a stack.
func (c Chipper) Part() Part { return part(c.Nominal, c.Measured) }

// Part is one shim of this size as a part of a stack.
func (s Shim) Part() Part { return part(s.Nominal, s.Measured) }

func part(nominal, measured Length) Part {
	if measured > 0 {
		return Part{Nominal: nominal, Size: measured}
	}
	return Part{Nominal: nominal, Size: nominal}
}

// Usable is how many chippers of this size are in service.
func (c Chipper) Usable() int { return max(0, c.Count-c.Out) }

// Usable is how many shims of this size may be used in the set.
func (s Set) usableShims(i int) int {
	sh := s.Shims[i]
	if !sh.Material.Rigid() && !s.SoftOK {
		return 0
	}
	return max(0, sh.Count-sh.Out)
}

// overhang is how far one side of a cutter's tooth stands out over its plate,
// and whether plate and tooth are both known.
func overhang(plate, tooth Length) (Length, bool) {
	if plate <= 0 || tooth <= 0 {
		return 0, false
	}
	return max(0, (tooth-plate)/2), true
}

// GenericInchSet is the set that a new shop starts with: sizes in common use,
// nominal, not measured [cp].
func GenericInchSet() Set {
	s := Set{Kind: Stacked, Unit: InchUnit, Outer: OuterPair{Nominal: Inches(1, 4)}, Gap: DefaultGapLimits()}
	s.Chippers = []Chipper{
		{Nominal: Inches(1, 8), Count: 4},
		{Nominal: Inches(3, 32), Count: 1},
		{Nominal: Inches(1, 16), Count: 1},
	}
	for _, mil := range []Length{20, 12, 10, 8, 5, 4} {
		s.Shims = append(s.Shims, Shim{Nominal: mil * Mil, Count: 2})
	}
	return s
}

// GenericMetricSet is its metric counterpart [cp].
func GenericMetricSet() Set {
	tenth := Millimetre / 10
	s := Set{Kind: Stacked, Unit: MillimetreUnit, Outer: OuterPair{Nominal: 64 * tenth}, Gap: DefaultGapLimits()}
	s.Chippers = []Chipper{
		{Nominal: 32 * tenth, Count: 4},
		{Nominal: 24 * tenth, Count: 1},
		{Nominal: 16 * tenth, Count: 1},
	}
	for _, n := range []Length{5, 3, 2, 1} {
		s.Shims = append(s.Shims, Shim{Nominal: n * tenth, Count: 2})
	}
	return s
}

// GenericBlade is the ordinary flat-top blade of a new shop, kerf 1/8 in [cp].
func GenericBlade() Set {
	return Set{Kind: Blade, Unit: InchUnit, Outer: OuterPair{Nominal: Inches(1, 8)}, Gap: DefaultGapLimits()}
}
