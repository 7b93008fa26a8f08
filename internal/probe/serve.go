package probe

import (
	"context"
	"log/slog"
	"net"
	"time"

	mqtt "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/reading"
	"slabside/internal/store"
)

// Shop is what the broker needs of the use cases; [app.App] offers it.
type Shop interface {
	Access(ctx context.Context) (access.State, error)
	Book(ctx context.Context) (book.Book, store.Head, error)
	AddReadings(ctx context.Context, posts []app.ReadingPost, by reading.Source, who string) (*app.ReadingsAdded, error)
	Seen(ctx context.Context, tablet, token string) error
}

var _ Shop = (*app.App)(nil)

// The limits of the broker: of a shop with a few thermometers.
const (
	mostClients = 100
	mostPacket  = 4 << 10 // bytes of a packet
	mostUnacked = 16      // messages of a client that wait for their acknowledgement
	patience    = 10 * time.Second
)

// Serve takes readings from a listener, encrypted or not, until ctx ends, and closes it.
func Serve(ctx context.Context, ln net.Listener, shop Shop, log *slog.Logger, now func() time.Time) error {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	able := mqtt.NewDefaultServerCapabilities()
	able.MaximumClients, able.MaximumPacketSize, able.ReceiveMaximum, able.MaximumInflight = mostClients, mostPacket, mostUnacked, mostUnacked
	able.MaximumSessionExpiryInterval, able.TopicAliasMaximum = 60, 0
	able.RetainAvailable, able.WildcardSubAvailable, able.SharedSubAvailable, able.SubIDAvailable = 0, 0, 0, 0
	b := mqtt.New(&mqtt.Options{Capabilities: able, Logger: slog.New(quiet{log.Handler()}), SysTopicResendInterval: 3600})
	err := b.AddHook(&door{ctx: ctx, shop: shop, log: log, now: now}, nil)
	if err == nil {
		err = b.AddListener(listeners.NewNet("probes", ln))
	}
	if err == nil {
		err = b.Serve()
	}
	if err != nil {
		ln.Close()
		return fault.Internal(err, "the broker for thermometers could not be started")
	}
	<-ctx.Done()
	if err := b.Close(); err != nil {
		return fault.Internal(err, "the broker for thermometers could not be stopped")
	}
	return nil
}

// quiet is a log without the packets that the broker writes into it: one may hold a token.
type quiet struct{ slog.Handler }

func (q quiet) Handle(ctx context.Context, r slog.Record) error {
	out := slog.NewRecord(r.Time, r.Level, r.Message, r.PC)
	r.Attrs(func(a slog.Attr) bool {
		if a.Key != "pk" && a.Key != "packet" {
			out.AddAttrs(a)
		}
		return true
	})
	return q.Handler.Handle(ctx, out)
}

func (q quiet) WithAttrs(attrs []slog.Attr) slog.Handler { return quiet{q.Handler.WithAttrs(attrs)} }

func (q quiet) WithGroup(name string) slog.Handler { return quiet{q.Handler.WithGroup(name)} }
