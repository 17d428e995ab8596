package solver

// Mark says where a figure comes from, so that a reply can say it too.
type Mark string

// The marks.
const (
	Published  Mark = "pub"  // published, the source named beside it
	SecondHand Mark = "sec"  // read in a summary or guide to the source named
	Common     Mark = "cp"   // common practice, no source
	Memory     Mark = "mem"  // from memory
	ShopChoice Mark = "shop" // a default of ours that every shop can change
)
