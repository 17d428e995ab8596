package drawing

import "image/color"

// Theme gives each role its colour. Text roles keep 4.5 to 1 against every ground
// they are put on; a test measures it in the pixels.
type Theme struct {
	Name    string
	Colours [roles]color.RGBA
}

// Light is for bright places: black on white.
func Light() Theme {
	return Theme{"light", [roles]color.RGBA{
		Ground: rgb(0xffffff), Ink: rgb(0x101418), Quiet: rgb(0x47525c), Measure: rgb(0x8c1d18),
		Steel: rgb(0xb9c6d1), Inner: rgb(0xe3eaef), Carbide: rgb(0x3d4954), ShimRole: rgb(0xffc845),
		Board: rgb(0xe3c598), Panel: rgb(0xf7e8cb), Band: rgb(0xcdebd2), Badge: rgb(0x101418), OnBadge: rgb(0xffffff),
	}}
}

// Dark is for dark rooms and dark windows.
func Dark() Theme {
	return Theme{"dark", [roles]color.RGBA{
		Ground: rgb(0x15191d), Ink: rgb(0xf3f6f8), Quiet: rgb(0xb4bfc9), Measure: rgb(0xffb4a3),
		Steel: rgb(0x4b5c6b), Inner: rgb(0x303c47), Carbide: rgb(0xc3ced8), ShimRole: rgb(0xc08a12),
		Board: rgb(0x5c4526), Panel: rgb(0x7b6039), Band: rgb(0x1d4d2e), Badge: rgb(0xf3f6f8), OnBadge: rgb(0x15191d),
	}}
}

func rgb(hex uint32) color.RGBA {
	return color.RGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 0xff}
}
