package probe

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"log/slog"
	"math"
	"net"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/certs"
	"slabside/internal/reading"
	"slabside/internal/rig"
	"slabside/internal/shoptest"
	"slabside/internal/store/sqlite"
)

// broker is a broker over a new book with the sample shop and a second thermometer.
type broker struct {
	t       testing.TB
	a       *app.App
	address string // with its scheme
	conf    *tls.Config
	token   map[string]string // by what it is for
	log     *safeBuffer
	stop    func()
}

// safeBuffer takes a log from several goroutines.
type safeBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *safeBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}
func (s *safeBuffer) String() string { s.mu.Lock(); defer s.mu.Unlock(); return s.b.String() }

func start(t testing.TB, encrypted bool) *broker {
	t.Helper()
	dir := t.TempDir()
	k, err := sqlite.Open(t.Context(), filepath.Join(dir, "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	x := &broker{t: t, a: app.New(k, shoptest.Now), token: map[string]string{}, log: new(safeBuffer)}
	b := shoptest.Book()
	b.Glasses = append(b.Glasses, rig.Glass{ID: "wire", Name: "Wire under the slab", Class: 1, Division: 0.1})
	if _, err := x.a.Import(t.Context(), b, "test", ""); err != nil {
		t.Fatal(err)
	}
	for name, make := range map[string]func() (string, error){
		"glass":  func() (string, error) { return x.a.NewProbeToken(t.Context(), "kettle wire", "glass", rand.Reader) },
		"any":    func() (string, error) { return x.a.NewProbeToken(t.Context(), "gateway", "", rand.Reader) },
		"helper": func() (string, error) { return x.a.NewToken(t.Context(), "printer", access.Helper, rand.Reader) },
	} {
		if x.token[name], err = make(); err != nil {
			t.Fatal(err)
		}
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	x.address = "tcp://" + ln.Addr().String()
	if encrypted {
		ca, err := certs.Open(filepath.Join(dir, "keys"), "shop-pc", rand.Reader, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		conf, err := ca.Config(func() []string { return []string{"127.0.0.1"} }, func(error) {})
		if err != nil {
			t.Fatal(err)
		}
		ln, x.address = tls.NewListener(ln, conf), "tls://"+ln.Addr().String()
		pool := x509.NewCertPool()
		pool.AppendCertsFromPEM(ca.Certificate())
		x.conf = &tls.Config{RootCAs: pool}
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- Serve(ctx, ln, x.a, slog.New(slog.NewTextHandler(x.log, nil)), shoptest.Now) }()
	var once sync.Once
	x.stop = func() {
		once.Do(func() {
			cancel()
			if err := <-done; err != nil {
				t.Error(err)
			}
		})
	}
	t.Cleanup(func() { x.stop(); k.Close() })
	return x
}

// wait is how long the tests wait for what must come, and gone for what must not.
const (
	wait = 10 * time.Second
	gone = 300 * time.Millisecond
)

// connect opens a connection as a thermometer does.
func (x *broker) connect(name, token string, change ...func(*paho.ClientOptions)) (paho.Client, error) {
	x.t.Helper()
	o := paho.NewClientOptions().AddBroker(x.address).SetClientID("c-" + name + rand.Text()[:6]).SetUsername(name).SetPassword(token).
		SetAutoReconnect(false).SetConnectRetry(false).SetTLSConfig(x.conf).SetConnectTimeout(wait).SetProtocolVersion(4)
	for _, c := range change {
		c(o)
	}
	c := paho.NewClient(o)
	token1 := c.Connect()
	if !token1.WaitTimeout(wait) {
		x.t.Fatal("no answer to the connection")
	}
	return c, token1.Error()
}

func (x *broker) mustConnect(name, token string) paho.Client {
	x.t.Helper()
	c, err := x.connect(name, token)
	if err != nil {
		x.t.Fatalf("%s is not let in: %v\n%s", name, err, x.log)
	}
	x.t.Cleanup(func() { c.Disconnect(0) })
	return c
}

// publish reports whether a message was acknowledged.
func publish(c paho.Client, topic string, qos byte, payload string) bool {
	t := c.Publish(topic, qos, false, payload)
	return t.WaitTimeout(gone*4) && t.Error() == nil && c.IsConnectionOpen()
}

// kept prints the readings of the book.
func (x *broker) kept() string {
	x.t.Helper()
	r, err := x.a.Readings(x.t.Context(), app.ReadingQuery{Limit: 100})
	if err != nil {
		x.t.Fatal(err)
	}
	var out []string
	for _, l := range r.Readings {
		out = append(out, fmt.Sprintf("%s %s %s %g %s", l.At.UTC().Format("15:04:05.999"), l.Probe, l.In, l.C, l.Source))
	}
	return strings.Join(out, "; ")
}

// A thermometer publishes a number or an object, and an acknowledgement means that it is in
// the book. Packets are those of an independent client (Eclipse Paho, MQTT 3.1.1).
func TestPublish(t *testing.T) {
	t.Parallel()
	for _, encrypted := range []bool{false, true} {
		x := start(t, encrypted)
		c := x.mustConnect("glass", x.token["glass"])
		at := shoptest.Now().Add(-time.Minute).UTC()
		stamp := func(s int) string { return at.Add(time.Duration(s) * time.Second).Format(time.RFC3339) }
		watching, stop := context.WithCancel(t.Context())
		news := x.a.WatchReadings(watching, "")
		for i, p := range []struct {
			topic, payload string
			qos            byte
		}{
			{"slabside/glass/kettle", `{"value": 120.5, "at": "` + stamp(0) + `"}`, 1},
			{"slabside/glass/water-in", `{"value": 64.4, "unit": "F", "at": "` + stamp(1) + `"}`, 2},
			{"slabside/glass/air", "21.5", 1},
			{"slabside/glass/kettle", `{"value": 120.5, "at": "` + stamp(0) + `"}`, 1}, // sent again
			{"slabside/glass/kettle", `{"value": 121, "at": "` + stamp(62) + `", "clock_ahead_ms": 60000}`, 1},
		} {
			if !publish(c, p.topic, p.qos, p.payload) {
				t.Fatalf("message %d was not acknowledged\n%s", i, x.log)
			}
		}
		want := "07:49:00 glass kettle 120.5 mqtt; 07:49:01 glass water in 18 mqtt; 07:49:02 glass kettle 121 mqtt; 07:50:00 glass air 21.5 mqtt"
		if got := x.kept(); got != want {
			t.Errorf("kept %s\nwant %s", got, want)
		}
		if n := len(news); n != 4 {
			t.Errorf("%d were told of, want 4", n)
		}
		if first := <-news; first != (app.ReadingNews{Probe: "glass", In: reading.Kettle, At: at, C: 120.5}) {
			t.Errorf("told %+v", first)
		}
		stop()
		st, err := x.a.Access(t.Context())
		if err != nil || st.TokenOf(x.token["glass"]).Used.IsZero() {
			t.Errorf("the use of the token was not noted, %v", err)
		}
		c.Disconnect(100)
	}
}

// Who is not known, or is known for something else, is not let in.
func TestConnect_refused(t *testing.T) {
	t.Parallel()
	x := start(t, false)
	st, err := x.a.Access(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	id := st.TokenOf(x.token["glass"]).ID
	for _, c := range []struct {
		what, name, token string
		in                bool
	}{
		{"its own token", "glass", x.token["glass"], true},
		{"by the id of its token", id, x.token["glass"], true},
		{"a gateway's token", "wire", x.token["any"], true},
		{"a helper's program", "wire", x.token["helper"], true},
		{"a wrong password", "glass", "slabside_wrong", false},
		{"no password", "glass", "", false},
		{"nobody", "", "", false},
		{"another thermometer's token", "wire", x.token["glass"], false},
		{"a thermometer that is not there", "brass", x.token["any"], false},
		{"a gateway by its id", st.TokenOf(x.token["any"]).ID, x.token["any"], false},
		{"a thing of another kind", "sugar", x.token["any"], false},
	} {
		client, err := x.connect(c.name, c.token)
		if (err == nil) != c.in {
			t.Errorf("%s: %v", c.what, err)
		}
		client.Disconnect(0)
	}
	for name, token := range x.token {
		if strings.Contains(x.log.String(), token) {
			t.Errorf("the log holds the token %s", name)
		}
	}
}

// What is not its own topic, or cannot be meant, is neither kept nor acknowledged; what is
// good comes in afterwards.
func TestPublish_refused(t *testing.T) {
	t.Parallel()
	x := start(t, false)
	for what, p := range map[string]struct{ topic, payload string }{
		"another's topic":       {"slabside/wire/kettle", "20"},
		"no place":              {"slabside/glass/cellar", "20"},
		"nowhere":               {"slabside/glass", "20"},
		"deeper":                {"slabside/glass/kettle/x", "20"},
		"another root":          {"shop/glass/kettle", "20"},
		"the broker's own":      {"$SYS/broker/version", "20"},
		"no number":             {"slabside/glass/kettle", "hot"},
		"nothing":               {"slabside/glass/kettle", ""},
		"an unknown unit":       {"slabside/glass/kettle", "390 K"},
		"an unknown key":        {"slabside/glass/kettle", `{"value":20,"colour":"red"}`},
		"no value":              {"slabside/glass/kettle", `{"unit":"C"}`},
		"broken JSON":           {"slabside/glass/kettle", `{"value":`},
		"two objects":           {"slabside/glass/kettle", `{"value":1}{"value":2}`},
		"too hot":               {"slabside/glass/kettle", "401"},
		"a time to come":        {"slabside/glass/kettle", `{"value":20,"at":"2036-01-01T00:00:00Z"}`},
		"a time of no zone":     {"slabside/glass/kettle", `{"value":20,"at":"2026-03-17 07:00:00"}`},
		"no such batch":         {"slabside/glass/kettle", `{"value":20,"batch":"2026-03-17-9"}`},
		"a clock of no age":     {"slabside/glass/kettle", `{"value":20,"clock_ahead_ms":9223372036854775807}`},
		"larger than is taken":  {"slabside/glass/kettle", `{"value":20,"batch":"` + strings.Repeat("x", mostPacket) + `"}`},
		"far larger than taken": {"slabside/glass/kettle", strings.Repeat("9", 1<<20)},
	} {
		c := x.mustConnect("glass", x.token["glass"])
		if publish(c, p.topic, 1, p.payload) {
			t.Errorf("%s was acknowledged", what)
		}
		c.Disconnect(0)
		// At most once, it is dropped without a word.
		c = x.mustConnect("glass", x.token["glass"])
		c.Publish(p.topic, 0, false, p.payload).WaitTimeout(wait)
		c.Disconnect(50)
		if got := x.kept(); got != "" {
			t.Fatalf("%s: kept %s", what, got)
		}
	}
	c := x.mustConnect("glass", x.token["glass"])
	if !publish(c, "slabside/glass/kettle", 1, "120 °C") || x.kept() != "07:50:00 glass kettle 120 mqtt" {
		t.Errorf("afterwards: %s\n%s", x.kept(), x.log)
	}
}

// Nobody reads anything: no subscription is granted, nothing is retained, and no last will
// gets anywhere.
func TestSubscribe_refused(t *testing.T) {
	t.Parallel()
	x := start(t, false)
	heard := make(chan string, 10)
	spy, err := x.connect("wire", x.token["any"], func(o *paho.ClientOptions) {
		o.SetDefaultPublishHandler(func(_ paho.Client, m paho.Message) { heard <- m.Topic() })
	})
	if err != nil {
		t.Fatal(err)
	}
	defer spy.Disconnect(0)
	for _, topic := range []string{"#", "slabside/glass/kettle", "slabside/+/+", "slabside/wire/kettle", "$SYS/#"} {
		token := spy.Subscribe(topic, 1, nil)
		token.WaitTimeout(gone)
		if s, ok := token.(*paho.SubscribeToken); ok && token.Error() == nil {
			if code, granted := s.Result()[topic]; granted && code < 0x80 {
				t.Errorf("%s is granted", topic)
			}
		}
		if !spy.IsConnectionOpen() {
			if spy, err = x.connect("wire", x.token["any"]); err != nil {
				t.Fatal(err)
			}
		}
	}
	c, err := x.connect("glass", x.token["glass"], func(o *paho.ClientOptions) { o.SetWill("slabside/wire/kettle", "99", 1, true) })
	if err != nil {
		t.Fatal(err)
	}
	c.Publish("slabside/glass/kettle", 1, true, "120").WaitTimeout(gone * 2)
	c.Disconnect(0)
	select {
	case topic := <-heard:
		t.Errorf("%s was handed out", topic)
	case <-time.After(gone):
	}
	if got := x.kept(); strings.Contains(got, "wire") || strings.Contains(got, "99") {
		t.Errorf("a last will was kept: %s", got)
	}
}

// A token that is taken back ends with the next message, on a connection that stands.
func TestTakenBack(t *testing.T) {
	t.Parallel()
	x := start(t, false)
	c := x.mustConnect("glass", x.token["glass"])
	if !publish(c, "slabside/glass/kettle", 1, "100") {
		t.Fatalf("not acknowledged\n%s", x.log)
	}
	st, err := x.a.Access(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := x.a.RemoveToken(t.Context(), st.TokenOf(x.token["glass"]).ID); err != nil {
		t.Fatal(err)
	}
	if publish(c, "slabside/glass/air", 1, "20") || strings.Contains(x.kept(), "air") {
		t.Errorf("after the token was taken back: %s", x.kept())
	}
}

// What comes on the broker's own line ends with it, and Serve returns.
func TestServe_ends(t *testing.T) {
	t.Parallel()
	x := start(t, false)
	c := x.mustConnect("glass", x.token["glass"])
	x.stop()
	if publish(c, "slabside/glass/kettle", 1, "100") {
		t.Error("acknowledged after the end")
	}
	if _, err := net.DialTimeout("tcp", strings.TrimPrefix(x.address, "tcp://"), time.Second); err == nil {
		t.Error("the listener is open after the end")
	}
}

// A certificate that is not the shop's is not taken by a thermometer that checks it: the
// line is encrypted, and plain MQTT gets no answer on it.
func TestEncrypted(t *testing.T) {
	t.Parallel()
	x := start(t, true)
	if c, err := x.connect("glass", x.token["glass"], func(o *paho.ClientOptions) { o.SetTLSConfig(&tls.Config{}) }); err == nil {
		c.Disconnect(0)
		t.Error("a client that does not know the shop's authority trusts it")
	}
	x.address = strings.Replace(x.address, "tls://", "tcp://", 1)
	if c, err := x.connect("glass", x.token["glass"]); err == nil {
		c.Disconnect(0)
		t.Error("plain MQTT is let in")
	}
}

func TestParsePayload(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]app.ReadingPost{
		"151.2":       {Value: 151.2, Unit: "C"},
		" 151,2 \n":   {Value: 151.2, Unit: "C"},
		"-4.5 °C":     {Value: -4.5, Unit: "C"},
		"302F":        {Value: 302, Unit: "F"},
		`{"value":0}`: {},
		`{"value":302,"unit":"F","batch":"2026-03-17-1","clock_ahead_ms":-1500,"at":"2026-03-17T07:00:00+01:00"}`: {Value: 302, Unit: "F", Batch: "2026-03-17-1", Ahead: -1500 * time.Millisecond, At: time.Date(2026, 3, 17, 6, 0, 0, 0, time.UTC)},
	} {
		got, err := parsePayload([]byte(text))
		if !got.At.Equal(want.At) {
			t.Errorf("%q is of %s", text, got.At)
		}
		got.At, want.At = time.Time{}, time.Time{}
		if err != nil || got != want {
			t.Errorf("%q is %+v, %v, want %+v", text, got, err, want)
		}
	}
}

// Whatever is published, it is a reading or refused.
func FuzzParsePayload(f *testing.F) {
	for _, s := range []string{"151.2", `{"value":1,"unit":"F","at":"2026-03-17T07:00:00Z"}`, "302 °F", "{"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if p, err := parsePayload(data); err == nil && (math.IsNaN(p.Value) || math.IsInf(p.Value, 0)) {
			t.Fatalf("%+v", p)
		}
	})
}

// BenchmarkPublish times one message at QoS 1 from the client until it is acknowledged.
func BenchmarkPublish(b *testing.B) {
	x := start(b, false)
	c := x.mustConnect("glass", x.token["glass"])
	at := shoptest.Now().Add(-24 * time.Hour)
	for b.Loop() {
		at = at.Add(time.Millisecond)
		if !publish(c, "slabside/glass/kettle", 1, `{"value":120,"at":"`+at.UTC().Format(time.RFC3339Nano)+`"}`) {
			b.Fatal("not acknowledged")
		}
	}
}
