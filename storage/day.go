package storage

import "time"

// Day is a date in a shop's own time zone, as 2026-03-04: days sort as text.
type Day string

// DayOf is the day of a time, in the time's own zone.
func DayOf(t time.Time) Day { return Day(t.Format(time.DateOnly)) }

// EveningEnds is the hour, by the shop's own clock, at which an evening is over: what
// is done after midnight still belongs to the day before [shop].
const EveningEnds = 4

// Evening is the day to whose class a time belongs, by the shop's own clock, also
// on the days on which that is put forward or back.
func (s Settings) Evening(t time.Time) Day { return DayOf(s.eveningDate(t)) }

// EveningBegan is when the evening of a time began: at EveningEnds o'clock.
func (s Settings) EveningBegan(t time.Time) time.Time {
	d := s.eveningDate(t)
	return time.Date(d.Year(), d.Month(), d.Day(), EveningEnds, 0, 0, 0, s.Location())
}

func (s Settings) eveningDate(t time.Time) time.Time {
	local := t.In(s.Location())
	if local.Hour() < EveningEnds {
		return local.AddDate(0, 0, -1)
	}
	return local
}

// ClassHours are when a class meets. The zero value is no hours at all.
type ClassHours struct {
	Days []time.Weekday `json:"days"`
	From int            `json:"from"` // minutes after midnight
	To   int            `json:"to"`   // likewise, later than From, and not in class any more
}

// Holds says whether the class meets at a time of the shop's own zone.
func (h ClassHours) Holds(t time.Time) bool {
	minute := t.Hour()*60 + t.Minute()
	if minute < h.From || minute >= h.To {
		return false
	}
	for _, d := range h.Days {
		if d == t.Weekday() {
			return true
		}
	}
	return false
}

// DefaultBackupDays is how long backups are taken to keep a name [shop].
const DefaultBackupDays = 30

// Location is the shop's time zone. A zone that this program does not know is UTC.
func (s Settings) Location() *time.Location {
	if zone, err := time.LoadLocation(s.Zone); err == nil && s.Zone != "Local" {
		return zone
	}
	return time.UTC
}

// Time is the start of the day in UTC; the zero time for what is no day.
func (d Day) Time() time.Time {
	t, _ := time.Parse(time.DateOnly, string(d))
	return t
}
