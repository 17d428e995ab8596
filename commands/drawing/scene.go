// Package drawing turns a scene in real units into a picture.
package drawing

// Scene is a picture before it has pixels.
type Scene struct{}
