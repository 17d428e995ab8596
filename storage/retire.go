package storage

// InUse is what stands against retiring a set or a saw: where it is, and what is
// not finished with it.
type InUse struct {
	Holder Custody // who has the set; the zero value where nobody has, and for a saw
	Loads  []Load  // of the set on saws, or what is on the saw
	Open   []Setup // setups with it that are planned or not taken down, newest first
}
