package cli

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// Entrances are the listeners the pages are served on; those that are nil are not.
type Entrances struct {
	Local   net.Listener // this machine
	Network net.Listener // the shop's network, to be encrypted
	Door    net.Listener // hands out the certificate
	Public  net.Listener // for visitors
	MQTT    net.Listener // for thermometers; encrypted if Network is there
	Keys    string       // folder of the shop's own certificate
}

type serveCmd struct {
	Listen        string `help:"Address on this machine." default:"127.0.0.1:7373" placeholder:"HOST:PORT" eg:"127.0.0.1:7374"`
	New           bool   `help:"Begin an empty shop book if there is none; the pages ask for the rest."`
	Network       bool   `help:"Let paired tablets in over the shop's network too, encrypted. An owner with a PIN must be there: slabside people add."`
	NetworkListen string `help:"Address for tablets." default:"0.0.0.0:7443" placeholder:"HOST:PORT" eg:"192.168.1.20:7443"`
	Door          string `help:"Address that hands the certificate to tablets; empty for none." default:"0.0.0.0:7380" placeholder:"HOST:PORT" eg:"192.168.1.20:7380"`
	MQTT          string `name:"mqtt" help:"Address for thermometers that speak MQTT; none unless given. Encrypted with --network, with the shop's own certificate." placeholder:"HOST:PORT" eg:"0.0.0.0:8883"`
	Public        string `help:"Address of the page for visitors, the next pours; none unless given." placeholder:"HOST:PORT" eg:"0.0.0.0:7390"`

	BackupDir   string     `help:"Folder for backups, made while the pages run; better on another disk." placeholder:"DIR" eg:"/mnt/stick/slabside"`
	BackupEvery q.Duration `help:"How often." default:"6h" placeholder:"TIME" eg:"6h"`
	BackupKeep  int        `help:"How many are kept; the oldest go." default:"60" placeholder:"N" eg:"60"`
}

// Run serves until interrupted.
func (c *serveCmd) Run(s *session) error {
	var e Entrances
	var opened []net.Listener
	defer func() {
		for _, ln := range opened {
			ln.Close()
		}
	}()
	listen := func(to *net.Listener, addr string, local bool) error {
		if addr == "" {
			return nil
		}
		ln, err := s.Listen(s.ctx, addr, local)
		if err == nil {
			*to, opened = ln, append(opened, ln)
		}
		return err
	}
	if err := listen(&e.Local, c.Listen, true); err != nil {
		return err
	}
	if c.Network {
		if err := listen(&e.Network, c.NetworkListen, false); err != nil {
			return err
		}
		if err := listen(&e.Door, c.Door, false); err != nil {
			return err
		}
		e.Keys = strings.TrimSuffix(s.book, filepath.Ext(s.book)) + "-keys"
	}
	if err := listen(&e.Public, c.Public, false); err != nil {
		return err
	}
	if err := listen(&e.MQTT, c.MQTT, false); err != nil {
		return err
	}
	every := time.Duration(c.BackupEvery)
	if c.BackupDir != "" && (every < time.Minute || c.BackupKeep < 1) {
		return fault.Invalid("backups every %s, of which %d are kept, cannot be meant", every, c.BackupKeep).At("--backup-every").
			WithHint("a minute at least, and one kept at least: --backup-every 6h --backup-keep 60")
	}
	return s.withBook(c.New, func(a *app.App) error {
		if c.Network {
			st, err := a.Access(s.ctx)
			if err != nil {
				return err
			}
			if st.Open() {
				return fault.Forbidden("nobody can sign in yet, so nobody is let in over the network").
					WithHint("slabside people add NAME --role owner makes the first owner; a book that is a file knows no people")
			}
		}
		if c.BackupDir == "" {
			return serve(s, a, e)
		}
		ctx, stop := context.WithCancel(s.ctx)
		var group sync.WaitGroup
		defer group.Wait() // before the book is closed
		defer stop()
		group.Go(func() {
			a.KeepBackups(ctx, every, app.BackupRequest{Dir: c.BackupDir, Keep: c.BackupKeep}, s.toldBackup)
		})
		return serve(s, a, e)
	})
}

func serve(s *session, a *app.App, e Entrances) error {
	ctx, stop := signal.NotifyContext(s.ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	fmt.Fprintf(s.Stderr, "Pages on http://%s (Ctrl-C stops)\n", e.Local.Addr())
	return s.Serve(ctx, a, e)
}
