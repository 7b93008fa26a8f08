package probe

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"slices"
	"sync"
	"time"

	mqtt "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/reading"
	"slabside/internal/rig"
)

// door decides who is let in, what may be published, and takes readings in. It is the only
// hook of the broker: what it does not allow is refused, since the broker allows what one
// of its hooks allows.
type door struct {
	mqtt.HookBase
	ctx  context.Context
	shop Shop
	log  *slog.Logger
	now  func() time.Time

	logins sync.Map // of clients, by *mqtt.Client
}

// login is what a client came in with.
type login struct{ name, password string }

// ID implements mqtt.Hook.
func (d *door) ID() string { return "slabside" }

// Provides implements mqtt.Hook.
func (d *door) Provides(b byte) bool {
	return slices.Contains([]byte{mqtt.OnConnectAuthenticate, mqtt.OnSessionEstablished, mqtt.OnDisconnect, mqtt.OnACLCheck, mqtt.OnPublish, mqtt.OnWill}, b)
}

// OnConnectAuthenticate lets a client in that names itself as a thermometer of the shop book,
// or by the id of its token, and brings a token as its password that may bring in readings
// of that thermometer.
func (d *door) OnConnectAuthenticate(cl *mqtt.Client, pk packets.Packet) bool {
	ctx, cancel := context.WithTimeout(d.ctx, patience)
	defer cancel()
	_, probe, err := d.knows(ctx, loginOf(pk))
	if err == nil {
		err = d.inBook(ctx, probe)
	}
	if err != nil {
		d.log.Warn("a thermometer was not let in", "name", fault.Clip(string(pk.Connect.Username), fault.Echo), "from", cl.Net.Remote, "error", err.Error())
	}
	return err == nil
}

func loginOf(pk packets.Packet) login {
	return login{string(pk.Connect.Username), string(pk.Connect.Password)}
}

// knows finds the token and the thermometer of a login.
func (d *door) knows(ctx context.Context, l login) (*access.Token, string, error) {
	st, err := d.shop.Access(ctx)
	if err != nil {
		return nil, "", err
	}
	t := st.TokenOf(l.password)
	if t == nil {
		return nil, "", fault.Forbidden("the token is not known").WithHint("it may have been taken back; the owner makes another under People")
	}
	probe := l.name
	if l.name == t.ID {
		probe = t.Probe
	}
	if probe == "" || !t.MayMeasure(probe) {
		return nil, "", fault.Forbidden("the token brings in no readings of %q", fault.Clip(l.name, fault.Echo)).WithHint("name the thermometer as the user")
	}
	return t, probe, nil
}

// inBook refuses a thermometer that the shop book does not have.
func (d *door) inBook(ctx context.Context, probe string) error {
	b, _, err := d.shop.Book(ctx)
	if err == nil && !slices.ContainsFunc(b.Glasses, func(g rig.Glass) bool { return g.ID == probe }) {
		err = fault.NotFound("no thermometer %q in the shop book", fault.Clip(probe, fault.Echo))
	}
	return err
}

// OnSessionEstablished remembers who it is.
func (d *door) OnSessionEstablished(cl *mqtt.Client, pk packets.Packet) {
	d.logins.Store(cl, loginOf(pk))
}

// OnDisconnect forgets it.
func (d *door) OnDisconnect(cl *mqtt.Client, _ error, _ bool) { d.logins.Delete(cl) }

// OnACLCheck allows a client to publish to the topics of its own thermometer, and nothing
// else: to read is allowed to nobody.
func (d *door) OnACLCheck(cl *mqtt.Client, topic string, write bool) bool {
	if !write {
		return false
	}
	ctx, cancel := context.WithTimeout(d.ctx, patience)
	defer cancel()
	_, _, _, err := d.allowed(ctx, cl, topic)
	if err != nil {
		d.log.Warn("a thermometer may not publish that", "client", fault.Clip(cl.ID, fault.Echo), "topic", fault.Clip(topic, fault.Echo), "error", err.Error())
	}
	return err == nil
}

// allowed finds by whom and of what a message is. A token that was taken back ends it.
func (d *door) allowed(ctx context.Context, cl *mqtt.Client, topic string) (*access.Token, string, reading.Place, error) {
	v, ok := d.logins.Load(cl)
	if !ok {
		return nil, "", "", fault.Forbidden("nobody is known here")
	}
	t, own, err := d.knows(ctx, v.(login))
	if err != nil {
		return nil, "", "", err
	}
	probe, in, err := parseTopic(topic)
	if err == nil && probe != own {
		err = fault.Forbidden("%s publishes readings of %s alone", t.Name, own)
	}
	return t, probe, in, err
}

// OnPublish keeps a reading. Only when it is on the disk does the broker acknowledge it, and
// there is nobody it goes to. What cannot be taken is not acknowledged: MQTT 5 is told why,
// and MQTT 3.1.1, which has no words for it, loses its connection.
func (d *door) OnPublish(cl *mqtt.Client, pk packets.Packet) (packets.Packet, error) {
	ctx, cancel := context.WithTimeout(d.ctx, patience)
	defer cancel()
	err := d.take(ctx, cl, pk)
	if err == nil {
		pk.FixedHeader.Retain = false
		return pk, nil
	}
	d.log.Warn("a reading was refused", "client", fault.Clip(cl.ID, fault.Echo), "topic", fault.Clip(pk.TopicName, fault.Echo), "error", err.Error())
	if pk.FixedHeader.Qos == 0 {
		return pk, packets.ErrRejectPacket
	}
	if cl.Properties.ProtocolVersion == 5 {
		return pk, codeOf(err)
	}
	cl.Stop(packets.ErrRejectPacket)
	return pk, packets.ErrRejectPacket
}

func (d *door) take(ctx context.Context, cl *mqtt.Client, pk packets.Packet) error {
	t, probe, in, err := d.allowed(ctx, cl, pk.TopicName)
	if err != nil {
		return err
	}
	p, err := parsePayload(bytes.Clone(pk.Payload))
	if err != nil {
		return err
	}
	p.Probe, p.In = probe, string(in)
	if _, err := d.shop.AddReadings(ctx, []app.ReadingPost{p}, reading.MQTT, t.Name+" (program)"); err != nil {
		return err
	}
	if access.Stale(t.Used, d.now()) {
		if err := d.shop.Seen(ctx, "", t.ID); err != nil {
			d.log.Warn("the use of a token could not be noted", "error", err.Error())
		}
	}
	return nil
}

// codeOf is the reason of MQTT 5 for a refusal (OASIS MQTT 5.0, 3.4.2.1).
func codeOf(err error) packets.Code {
	var f *fault.Error
	if !errors.As(err, &f) {
		return packets.ErrUnspecifiedError
	}
	code := packets.ErrImplementationSpecificError
	switch f.Kind {
	case fault.KindForbidden:
		code = packets.ErrNotAuthorized
	case fault.KindInvalid, fault.KindNotFound, fault.KindOutOfRange:
		code = packets.ErrPayloadFormatInvalid
	}
	code.Reason = f.Text
	return code
}

// OnWill lets no last will be kept.
func (d *door) OnWill(_ *mqtt.Client, will mqtt.Will) (mqtt.Will, error) {
	will.Retain = false
	return will, nil
}
