package commands

import "context"

// Unit is the unit that a caller writes and reads, "in" or "mm".
func (a *App) Unit(ctx context.Context, c Caller) (string, error) {
	s, err := a.open(ctx, c)
	if err != nil {
		return "", err
	}
	return s.style.Unit.String(), nil
}
