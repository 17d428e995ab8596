package storage_test

import (
	"testing"
	"time"

	"shimwright/storage"
)

// An evening goes on over midnight until four by the shop's own clock. In Chicago
// the clock went from 2:00 to 3:00 on 9 March 2031 and goes from 2:00 back to 1:00
// on 2 November 2031 (second Sunday of March, first of November).
func TestEvening(t *testing.T) {
	for _, tc := range []struct {
		zone, at string // the time in UTC
		want     storage.Day
		began    string // in UTC
	}{
		{"", "2031-03-04T18:00:00Z", "2031-03-04", "2031-03-04T04:00:00Z"},
		{"", "2031-03-05T00:10:00Z", "2031-03-04", "2031-03-04T04:00:00Z"},
		{"", "2031-03-05T03:59:59Z", "2031-03-04", "2031-03-04T04:00:00Z"},
		{"", "2031-03-05T04:00:00Z", "2031-03-05", "2031-03-05T04:00:00Z"},
		{"", "2031-01-01T01:00:00Z", "2030-12-31", "2030-12-31T04:00:00Z"},
		{"America/Chicago", "2031-03-05T02:00:00Z", "2031-03-04", "2031-03-04T10:00:00Z"}, // 20:00 CST
		{"America/Chicago", "2031-03-09T07:59:00Z", "2031-03-08", "2031-03-08T10:00:00Z"}, // 1:59 CST
		{"America/Chicago", "2031-03-09T08:59:00Z", "2031-03-08", "2031-03-08T10:00:00Z"}, // 3:59 CDT
		{"America/Chicago", "2031-03-09T09:00:00Z", "2031-03-09", "2031-03-09T09:00:00Z"}, // 4:00 CDT
		{"America/Chicago", "2031-11-02T07:30:00Z", "2031-11-01", "2031-11-01T09:00:00Z"}, // 1:30 again, CST
		{"America/Chicago", "2031-11-02T09:59:00Z", "2031-11-01", "2031-11-01T09:00:00Z"}, // 3:59 CST
		{"America/Chicago", "2031-11-02T10:00:00Z", "2031-11-02", "2031-11-02T10:00:00Z"},
		{"Pacific/Auckland", "2031-03-04T06:00:00Z", "2031-03-04", "2031-03-03T15:00:00Z"}, // 19:00 NZDT
		{"Nowhere/Town", "2031-03-05T03:59:59Z", "2031-03-04", "2031-03-04T04:00:00Z"},     // as UTC
	} {
		at, err := time.Parse(time.RFC3339, tc.at)
		if err != nil {
			t.Fatal(err)
		}
		s := storage.Settings{Zone: tc.zone}
		if got, began := s.Evening(at), s.EveningBegan(at).UTC().Format(time.RFC3339); got != tc.want || began != tc.began {
			t.Errorf("%s in %q: %s, begun %s; want %s, %s", tc.at, tc.zone, got, began, tc.want, tc.began)
		}
	}
}
