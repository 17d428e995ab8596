package solver

// The units of load and stiffness [pub: NIST SP 811, app. B].
const (
	// PoundForce is one pound of force in newton.
	PoundForce = 4.4482216152605
	// PSI is one pound of force on a square inch, in N/mm2.
	PSI = PoundForce / (25.4 * 25.4)
	// PoundPerFoot is one pound of force on a foot of shelf, in N/mm.
	PoundPerFoot = PoundForce / 304.8
	// KilogramPerMetre is the weight of one kilogram on a metre of shelf, in N/mm,
	// with standard gravity.
	KilogramPerMetre = 9.80665 / 1000
)

// Moduli of elasticity of panels, in N/mm2. Plywood has no single one: it depends
// on the plies and on which way the face grain runs, so that a range stands for it.
const (
	MDFModulus      = 2500.0   // [sec]
	PlywoodSoftest  = 4000.0   // [mem] along the face grain
	PlywoodStiffest = 10_000.0 // [mem] along the face grain
)

// Beam is a shelf under an even load.
type Beam struct {
	Span         Length  // between the sides
	Width, Thick Length  // front to back, and on edge
	Load         float64 // N/mm of span
	Modulus      float64 // N/mm2
}

// Sag is how far the middle of a shelf goes down.
type Sag struct {
	// Free and Fixed are at first, with ends that turn freely and with ends held
	// fast; a dado lies between the two, nearer to free where the sides flex.
	Free, Fixed Length
	// FreeLater and FixedLater are with creep, at least [sec].
	FreeLater, FixedLater Length
	Limit                 Length // for the sag at first, see SagLimit
	FreeOK, FixedOK       bool   // within the limit
}

// SagLimit is how far a shelf may sag at first: 0.02 in for each foot of span [sec].
func SagLimit(span Length) Length { return span / 600 }

// Creep is by what a lasting load multiplies the sag in time: half again, or more [sec].
const Creep = 1.5

// SagOf is 5 w L^4/(384 E I) with free ends and w L^4/(384 E I) with fixed ends,
// I = b t^3/12 [standard beam formulas]. All of the beam must be positive, the
// load may be zero; the second result is false otherwise.
func SagOf(b Beam) (Sag, bool) {
	if b.Span <= 0 || b.Width <= 0 || b.Thick <= 0 || !(b.Modulus > 0) || !(b.Load >= 0) {
		return Sag{}, false
	}
	l, t := b.Span.MM(), b.Thick.MM()
	inertia := b.Width.MM() * t * t * t / 12
	fixed := b.Load * l * l * l * l / (384 * b.Modulus * inertia)
	if !(5*Creep*fixed < l) { // a shelf that would hang down by its own span has broken
		return Sag{}, false
	}
	s := Sag{
		Free: MMFloat(5 * fixed), Fixed: MMFloat(fixed),
		FreeLater: MMFloat(5 * fixed * Creep), FixedLater: MMFloat(fixed * Creep),
		Limit: SagLimit(b.Span),
	}
	s.FreeOK, s.FixedOK = s.Free <= s.Limit, s.Fixed <= s.Limit
	return s, true
}
