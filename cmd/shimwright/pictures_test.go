package main

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"shimwright/commands/drawing"
)

// Of a whole class that asks for a picture at the same moment no more than two are
// drawn at a time, and each is drawn.
func TestPicturesInTurn(t *testing.T) {
	var now, most, all atomic.Int32
	draw := inTurn(func(drawing.Scene) ([]byte, error) {
		for n := now.Add(1); ; {
			m := most.Load()
			if n <= m || most.CompareAndSwap(m, n) {
				break
			}
		}
		time.Sleep(5 * time.Millisecond)
		now.Add(-1)
		all.Add(1)
		return nil, nil
	})
	var wg sync.WaitGroup
	for range 32 {
		wg.Go(func() { _, _ = draw(drawing.Scene{}) })
	}
	wg.Wait()
	if most.Load() > easels || all.Load() != 32 {
		t.Errorf("%d at a time, want at most %d; %d drawn, want 32", most.Load(), easels, all.Load())
	}
}
