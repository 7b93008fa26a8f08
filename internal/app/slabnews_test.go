package app

import (
	"context"
	"testing"
	"time"
)

// told reports whether something waits on a channel; it does by the time tell returns.
func told(c <-chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}

// Who watches a batch is told of it and of what is of every batch, once of many; who has
// stopped is forgotten.
func TestNews(t *testing.T) {
	t.Parallel()
	var n news
	ctx, stop := context.WithCancel(t.Context())
	one, every, other := n.watch(ctx, "2026-11-28-1"), n.watch(ctx, ""), n.watch(t.Context(), "2026-11-28-2")
	for range 3 {
		n.tell("2026-11-28-1")
	}
	if !told(one) || told(one) || !told(every) || told(other) {
		t.Error("of one batch not those alone are told who watch it, once each")
	}
	n.tell("")
	if !told(one) || !told(every) || !told(other) {
		t.Error("of every batch not everybody is told")
	}
	stop()
	for range 1000 { // it is forgotten by another goroutine
		n.mu.Lock()
		left := len(n.all)
		n.mu.Unlock()
		if left == 1 {
			return
		}
		time.Sleep(time.Millisecond)
	}
	t.Error("who stopped watching is still kept")
}
