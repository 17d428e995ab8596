package solver

// Saw is a table saw as far as a stacked set is concerned. Zero values of
// lengths and speeds mean "not known"; the saw's manual has them.
type Saw struct {
	Unit     Unit      `json:"unit"`
	Arbor    Length    `json:"arbor"`              // widest stack the arbor takes with both flanges and a full thread past the nut
	Insert   Length    `json:"insert,omitempty"`   // opening of the wide throat insert
	Largest  Length    `json:"largest,omitempty"`  // largest cutter diameter
	Smallest Length    `json:"smallest,omitempty"` // smallest cutter diameter
	RPM      int       `json:"rpm,omitempty"`      // arbor speed
	Nut      Side      `json:"nut,omitempty"`      // which side the nut is on, seen from where the operator stands
	Flange   FlangeUse `json:"flange,omitempty"`   // whether the outer flange may be left off
	Fence    FenceUse  `json:"fence,omitempty"`    // fence together with the mitre gauge
	Brake    bool      `json:"brake,omitempty"`    // flesh-sensing brake
	NoStack  bool      `json:"no_stack,omitempty"` // this saw takes no stacked set at all
}

// Side is left or right as seen by the operator; empty when not known.
type Side string

// The sides.
const (
	Left  Side = "left"
	Right Side = "right"
)

// FlangeUse says whether the outer flange may be left off for a wide stack. Saw
// manuals differ; the zero value is the default, always both flanges.
type FlangeUse string

// The flange rules.
const (
	BothFlanges    FlangeUse = ""
	OuterMayBeLeft FlangeUse = "outer-may-be-left-off"
)

// FenceUse says what sets the place of the cut when the gauge carries the work.
// Manuals differ; the zero value is the default, a stop block ahead of the cutter.
type FenceUse string

// The fence rules.
const (
	StopBlock    FenceUse = ""
	FenceAllowed FenceUse = "fence-allowed"
)

// GenericInchSaw is the saw of a new shop: 13/16 in of arbor, typical for a
// 10 in saw with an 8 in set [sec].
func GenericInchSaw() Saw { return Saw{Unit: InchUnit, Arbor: Inches(13, 16)} }

// GenericMetricSaw takes 20 mm [shop, from the scope of EN ISO 19085-9].
func GenericMetricSaw() Saw { return Saw{Unit: MillimetreUnit, Arbor: 20 * Millimetre} }
