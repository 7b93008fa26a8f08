package web

import (
	"testing"
	"time"

	"slabside/internal/app"
)

// The foot of the shop book says how the backups go, and loudly when they do not.
func TestShopBook_backups(t *testing.T) {
	t.Parallel()
	six := time.Date(2026, 11, 28, 6, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		last               app.LastBackup
		card, says, silent string
	}{
		{app.LastBackup{}, "", "", "#backup-h"},
		{app.LastBackup{At: six}, "section[aria-labelledby=backup-h]", "The last good one: 28 November 2026, ", "section.trouble[aria-labelledby=backup-h]"},
		{app.LastBackup{At: six, Failed: six.Add(6 * time.Hour), Why: "the disk is full"}, "section.trouble[aria-labelledby=backup-h]", "The disk is full.", ""},
		{app.LastBackup{Failed: six, Why: "no folder"}, "section.trouble[aria-labelledby=backup-h]", "There is no good one yet.", ""},
	} {
		opt := fixtureOptions()
		opt.Backups = func() app.LastBackup { return c.last }
		p := ask(t, New(newFakeShop(), opt), "GET", "/book", nil)
		if c.card != "" {
			p.says(t, c.card, c.says)
		}
		if c.silent != "" && p.count(c.silent) > 0 {
			t.Errorf("%+v: there is %s", c.last, c.silent)
		}
	}
}
