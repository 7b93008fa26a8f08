package web

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"io"
	"log/slog"
	"math/big"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"slabside/internal/certs"
)

// shopNetwork stands for the shop's network: its server under the machine's names,
// encrypted with the shop's own authority, and the door beside it.
type shopNetwork struct {
	*staffedShop
	port  string
	door  string       // address
	keys  string       // folder of the authority
	asked atomic.Int32 // requests that reached the pages
}

func onNetwork(t *testing.T) *shopNetwork {
	t.Helper()
	n := &shopNetwork{staffedShop: staffed(t), keys: filepath.Join(t.TempDir(), "keys")}
	ca, err := certs.Open(n.keys, "shop-pc", rand.Reader, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	conf, err := ca.Config(names("192.168.1.20", "shop-pc.local"), func(err error) { t.Error(err) })
	if err != nil {
		t.Fatal(err)
	}
	n.port = serveTLS(t, conf, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		n.asked.Add(1)
		n.shared.ServeHTTP(w, r)
	}))
	door := httptest.NewServer(Door(DoorOptions{Names: names("127.0.0.1"), Certificate: ca.Certificate(), Network: telling(Network{Fingerprint: ca.Fingerprint(), Address: "https://192.168.1.20:" + n.port})}))
	t.Cleanup(door.Close)
	n.door = door.URL
	return n
}

// serveTLS serves h encrypted and returns the port.
func serveTLS(t *testing.T, conf *tls.Config, h http.Handler) (port string) {
	t.Helper()
	srv := httptest.NewUnstartedServer(h)
	srv.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError) // of browsers that turn away
	plain := srv.Listener
	srv.Listener = tls.NewListener(plain, conf)
	srv.Start()
	t.Cleanup(srv.Close)
	_, port, _ = strings.Cut(plain.Addr().String(), ":")
	return port
}

// certificate gets what the door hands out.
func (n *shopNetwork) certificate(t *testing.T) []byte {
	t.Helper()
	res, err := http.Get(n.door + certificatePath)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("the door answers %d, %v", res.StatusCode, err)
	}
	return b
}

// tabletBrowser starts a browser in a home of its own, for which the names of the
// shop's network and of a bank lead to this machine. It trusts what a browser trusts
// and the certificate given, installed among its authorities as a person does it:
// telling it to pass over the faults of one key would pass over names, constraints and
// dates too.
func tabletBrowser(t *testing.T, certificate []byte) context.Context {
	t.Helper()
	home := t.TempDir()
	if certificate != nil {
		file, db := filepath.Join(home, "shop.crt"), filepath.Join(home, ".pki", "nssdb")
		if err := os.WriteFile(file, certificate, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll(db, 0o700); err != nil {
			t.Fatal(err)
		}
		for _, args := range [][]string{{"-N", "--empty-password"}, {"-A", "-n", "shop", "-t", "C,,", "-i", file}} {
			if out, err := exec.Command("certutil", append(args, "-d", "sql:"+db)...).CombinedOutput(); err != nil {
				t.Fatalf("certutil, of the package libnss3-tools: %v %s", err, out)
			}
		}
	}
	return newBrowser(t, chromedp.Env("HOME="+home, "XDG_DATA_HOME="+filepath.Join(home, "data")),
		chromedp.Flag("host-resolver-rules", "MAP * 127.0.0.1"), chromedp.Flag("no-proxy-server", true))
}

// A tablet that has installed the certificate from the door is paired, somebody signs
// in by the PIN, sees the making day, and is refused what the role may not do; what the
// browser keeps is for these pages alone.
func TestTablet(t *testing.T) {
	t.Parallel()
	n := onNetwork(t)
	tab := tabletBrowser(t, n.certificate(t))
	root := "https://192.168.1.20:" + n.port
	code, _, err := n.f.NewPairing(t.Context(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	wilma := n.state().People[2]

	do(t, tab, size(768, 1024), chromedp.Navigate(root+"/"), chromedp.WaitVisible(chromedp.CSS("#code")))
	do(t, tab, chromedp.SendKeys(chromedp.CSS("#code"), code[:4]+" "+code[4:]), chromedp.SendKeys(chromedp.CSS("#name"), "packing"))
	press(t, tab, "form.signin button.primary")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#pin")))
	do(t, tab, chromedp.Focus(chromedp.CSS("input[value="+wilma.ID+"]")), chromedp.KeyEvent(" "), chromedp.SendKeys(chromedp.CSS("#pin"), pins[wilma.Name]))
	press(t, tab, "form.signin button.primary")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#next-h")))
	signedIn := func() {
		t.Helper()
		if got := value(t, tab, chromedp.Location()); got != root+"/" {
			t.Errorf("it is led to %s", got)
		}
		if got := value(t, tab, chromedp.Text(chromedp.CSS(".foot form"))); !strings.Contains(got, "Signed in: Wilma") {
			t.Errorf("the foot says %q", got)
		}
	}
	signedIn()

	before := cookiesOf(t, tab)
	if len(before) != 2 {
		t.Errorf("%d cookies, want the tablet's and the shift's", len(before))
	}
	for _, c := range before {
		if !c.Secure || !c.HTTPOnly || c.SameSite != network.CookieSameSiteStrict || c.Path != "/" || c.Domain != "192.168.1.20" || c.Session {
			t.Errorf("cookie %s: secure %t, HTTP only %t, same site %q, path %q, domain %q, until the browser is closed %t", c.Name, c.Secure, c.HTTPOnly, c.SameSite, c.Path, c.Domain, c.Session)
		}
	}
	if got := value(t, tab, chromedp.Evaluate[string](`document.cookie`)); got != "" {
		t.Errorf("a script reads %q", got)
	}
	do(t, tab, chromedp.Reload())
	signedIn()
	for _, c := range cookiesOf(t, tab) {
		if was := before[c.Name]; was == nil || was.Value != c.Value {
			t.Errorf("cookie %s is another after a reload", c.Name)
		}
	}

	if res := value(t, tab, chromedp.NavigateResponse(root+"/people")); res.Status != http.StatusForbidden {
		t.Errorf("a helper sees who may do what: status %d", res.Status)
	}
	if got := value(t, tab, chromedp.Text(chromedp.CSS("main"))); !strings.Contains(got, "Wilma may not do that") || strings.Contains(got, "Odile") {
		t.Errorf("the page says %q", got)
	}
	if got := value(t, tab, chromedp.Evaluate[int](`fetch('/to-make', {method: 'POST', body: new URLSearchParams({act: 'save'})}).then(r => r.status)`, chromedp.EvalAwaitPromise)); got != http.StatusForbidden {
		t.Errorf("a helper changes what is to be made: status %d", got)
	}
	if _, head := n.f.kept(); head != 7 {
		t.Error("the book was changed")
	}

	// Under the machine's name it is trusted too, and knows nobody.
	do(t, tab, chromedp.Navigate("https://shop-pc.local:"+n.port+"/"))
	if got := value(t, tab, chromedp.Location()); got != "https://shop-pc.local:"+n.port+"/pair" {
		t.Errorf("under the machine's name it is led to %s", got)
	}
}

func cookiesOf(t *testing.T, tab context.Context) map[string]*network.Cookie {
	t.Helper()
	got, err := chromedp.Call(tab, network.GetCookies, network.GetCookiesParams{})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*network.Cookie{}
	for _, c := range got.Cookies {
		out[c.Name] = c
	}
	return out
}

// A browser that has not installed the certificate shows no page and sends nothing;
// one that has shows none under a name the certificate is not for, nor a bank's that
// somebody signed who carried off the shop's key.
func TestTablet_NotTrusted(t *testing.T) {
	t.Parallel()
	n := onNetwork(t)
	refused := func(tab context.Context, address, want string) {
		t.Helper()
		err := chromedp.Do(tab, chromedp.Navigate(address))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", address, err, want)
		}
		if value(t, tab, chromedp.Evaluate[bool](`document.querySelector('header.top') !== null`)) {
			t.Errorf("%s is shown", address)
		}
	}
	refused(tabletBrowser(t, nil), "https://192.168.1.20:"+n.port+"/", "ERR_CERT_AUTHORITY_INVALID")

	tab := tabletBrowser(t, n.certificate(t))
	refused(tab, "https://192.168.1.21:"+n.port+"/", "ERR_CERT_COMMON_NAME_INVALID")
	if asked := n.asked.Load(); asked != 0 {
		t.Errorf("%d requests reached the pages", asked)
	}
	refused(tab, "https://bank.example:"+serveTLS(t, n.forged(t, "bank.example"), n.shared)+"/", "ERR_CERT_INVALID")
	// That is for the name alone: of the shop's own names the same hand is believed.
	do(t, tab, chromedp.Navigate("https://shop-pc.local:"+serveTLS(t, n.forged(t, "shop-pc.local"), n.shared)+"/"), chromedp.WaitVisible(chromedp.CSS("#code")))
}

// forged is a server's encryption under a name, signed with the authority's key as it
// lies in its folder.
func (n *shopNetwork) forged(t *testing.T, name string) *tls.Config {
	t.Helper()
	pair, err := tls.LoadX509KeyPair(filepath.Join(n.keys, "shop-ca.crt"), filepath.Join(n.keys, "shop-ca.key"))
	if err != nil {
		t.Fatal(err)
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	leaf := &x509.Certificate{SerialNumber: big.NewInt(7), Subject: pkix.Name{CommonName: name}, DNSNames: []string{name}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().AddDate(0, 1, 0),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	der, err := x509.CreateCertificate(rand.Reader, leaf, pair.Leaf, key.Public(), pair.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	return &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{der, pair.Certificate[0]}, PrivateKey: key}}}
}
