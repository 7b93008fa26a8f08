package main

import (
	"context"
	"crypto/tls"
	"log/slog"
	"net"
	"os"
	"sync"
	"time"

	"slabside/internal/app"
	"slabside/internal/certs"
	"slabside/internal/cli"
	"slabside/internal/paper"
	"slabside/internal/probe"
	"slabside/internal/web"
)

// serve shows the pages on every entrance until ctx ends or one of them fails.
func serve(ctx context.Context, a *app.App, e cli.Entrances) error {
	out, machine := os.Stderr, certs.ThisMachine()
	log := slog.New(slog.NewTextHandler(out, &slog.HandlerOptions{Level: slog.LevelWarn}))
	opt := web.Options{Log: log, Now: time.Now, DaySheet: paper.DaySheet, BatchSheets: paper.BatchSheets, Backups: a.Backups}
	var shared *network
	if e.Network != nil {
		var err error
		if shared, err = openNetwork(e, machine, log); err != nil {
			return err
		}
		opt.Network = shared.tells
	}
	site := web.NewSite(a, opt)
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var group sync.WaitGroup
	failed := make(chan error, 5)
	run := func(ln net.Listener, h web.Pages) {
		if ln == nil {
			return
		}
		group.Go(func() {
			if err := web.Serve(ctx, ln, h, log); err != nil {
				failed <- err
				stop()
			}
		})
	}
	run(e.Local, site.Local())
	run(e.Public, site.Public())
	if shared != nil {
		run(tls.NewListener(e.Network, shared.conf), site.Shared(shared.names))
		run(e.Door, web.Door(web.DoorOptions{Certificate: shared.certificate, Network: shared.tells, Names: shared.names}))
	}
	if e.MQTT != nil {
		ln := e.MQTT
		if shared != nil {
			ln = tls.NewListener(ln, shared.conf)
		}
		group.Go(func() {
			if err := probe.Serve(ctx, ln, a, log, time.Now); err != nil {
				failed <- err
				stop()
			}
		})
	}
	w := newWatch(machine, e, shared)
	w.begin(out)
	group.Go(func() { w.run(ctx, out) })
	group.Wait()
	close(failed)
	return <-failed
}
