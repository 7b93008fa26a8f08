package certs

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"slabside/internal/fault"
)

var noon = time.Date(2026, time.March, 14, 12, 0, 0, 0, time.UTC)

func at(t time.Time) func() time.Time { return func() time.Time { return t } }

func open(t *testing.T, folder string, now time.Time) *Authority {
	t.Helper()
	a, err := Open(folder, "shop-pc", rand.Reader, at(now))
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// A tablet that trusts the authority takes its certificates for the names asked,
// and for nothing else, and no longer than they hold: Go's own verification, which
// keeps to RFC 5280.
func TestServer_Verified(t *testing.T) {
	t.Parallel()
	a := open(t, filepath.Join(t.TempDir(), "keys"), noon)
	names := []string{"192.168.1.20", "shop-pc.local", "10.1.2.3", "fd00::7"}
	c, err := a.Server(names)
	if err != nil {
		t.Fatal(err)
	}
	check := func(name string, when time.Time) error {
		_, err := c.Leaf.Verify(x509.VerifyOptions{Roots: pool(a), DNSName: name, CurrentTime: when, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}})
		return err
	}
	for _, n := range names {
		if err := check(n, noon); err != nil {
			t.Errorf("%s: %v", n, err)
		}
	}
	for _, n := range []string{"192.168.1.21", "other-pc", "example.com"} {
		if check(n, noon) == nil {
			t.Errorf("%s is taken", n)
		}
	}
	if check("shop-pc.local", noon.AddDate(0, 0, serverDays+1)) == nil || check("shop-pc.local", noon.AddDate(0, 0, -1)) == nil {
		t.Error("the certificate holds beyond its time")
	}
	if days := c.Leaf.NotAfter.Sub(c.Leaf.NotBefore).Hours() / 24; days > 398 {
		t.Errorf("%g days: browsers take 398", days)
	}
	if _, err := (&x509.Certificate{}).Verify(x509.VerifyOptions{Roots: pool(a)}); err == nil {
		t.Error("an empty certificate is taken")
	}
}

// A key that was carried off vouches for no public site: not by this program, and
// not by another's hand, for whoever trusts the authority refuses it.
func TestConstraints(t *testing.T) {
	t.Parallel()
	// "shop" is a name that a machine may well have and a domain of public sites.
	a, err := Open(filepath.Join(t.TempDir(), "keys"), "shop", rand.Reader, at(noon))
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []string{"shop", "bank.shop", "example.com", "bank.example", "8.8.8.8", "2001:4860:4860::8888", "local.example"} {
		if _, err := a.Server([]string{n}); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", n, err)
		}
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		forged := &x509.Certificate{SerialNumber: big.NewInt(7), Subject: pkix.Name{CommonName: n}, NotBefore: noon.Add(-time.Hour), NotAfter: noon.AddDate(0, 1, 0),
			KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
		if ip := net.ParseIP(n); ip != nil {
			forged.IPAddresses = []net.IP{ip}
		} else {
			forged.DNSNames = []string{n}
		}
		der, err := x509.CreateCertificate(rand.Reader, forged, a.cert, key.Public(), a.key)
		if err != nil {
			t.Fatal(err)
		}
		leaf, err := x509.ParseCertificate(der)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := leaf.Verify(x509.VerifyOptions{Roots: pool(a), DNSName: n, CurrentTime: noon}); err == nil {
			t.Errorf("a forged certificate for %s is taken", n)
		}
	}
	// What it signs is for servers alone: not for programs, letters or people.
	c, err := a.Server([]string{"shop.local"})
	if err != nil {
		t.Fatal(err)
	}
	forged := *c.Leaf
	forged.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageAny}
	der, err := x509.CreateCertificate(rand.Reader, &forged, a.cert, c.Leaf.PublicKey, a.key)
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	for use, want := range map[x509.ExtKeyUsage]bool{x509.ExtKeyUsageServerAuth: true, x509.ExtKeyUsageClientAuth: false, x509.ExtKeyUsageEmailProtection: false, x509.ExtKeyUsageCodeSigning: false} {
		if _, err := leaf.Verify(x509.VerifyOptions{Roots: pool(a), CurrentTime: noon, KeyUsages: []x509.ExtKeyUsage{use}}); (err == nil) != want {
			t.Errorf("for use %d: %v", use, err)
		}
	}
	// Nor does it make another authority.
	if !a.cert.MaxPathLenZero || !a.cert.PermittedDNSDomainsCritical {
		t.Error("the authority may make others, or its limits may be passed over")
	}
}

// The authority stays what it is, and its key is read by nobody else.
func TestOpen_Again(t *testing.T) {
	t.Parallel()
	folder := filepath.Join(t.TempDir(), "keys")
	first := open(t, folder, noon)
	if again := open(t, folder, noon.AddDate(1, 0, 0)); again.Fingerprint() != first.Fingerprint() || len(first.Fingerprint()) != 32*3-1 {
		t.Errorf("fingerprint %s, then %s", first.Fingerprint(), again.Fingerprint())
	}
	block, _ := pem.Decode(first.Certificate())
	if c, err := x509.ParseCertificate(block.Bytes); err != nil || !c.Equal(first.cert) {
		t.Errorf("the certificate to install is another: %v", err)
	}
	for path, want := range map[string]os.FileMode{folder: 0o700, filepath.Join(folder, keyFile): 0o600} {
		if info, err := os.Stat(path); err != nil || info.Mode().Perm() != want {
			t.Errorf("%s: %v, %v", path, info.Mode().Perm(), err)
		}
	}
	if _, err := Open(folder, "x", rand.Reader, at(noon.AddDate(authorityYears, 0, 1))); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("after its end: %v", err)
	}
	if err := os.WriteFile(filepath.Join(folder, certFile), []byte("not one"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(folder, "x", rand.Reader, at(noon)); fault.KindOf(err) != fault.KindInternal {
		t.Errorf("a certificate that is none: %v", err)
	}
}

// What others on the machine may read or change is not used, and it is said what to do.
func TestOpen_Permissions(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		mode  os.FileMode
		hint  string // empty: taken
		empty bool   // of the folder
	}{
		{"", 0o755, "chmod 700 ", false}, {"", 0o710, "chmod 700 ", false}, {"", 0o755, "chmod 700 ", true}, {"", 0o700, "", true}, {keyFile, 0o640, "chmod 600 ", false}, {keyFile, 0o604, "chmod 600 ", false}, {keyFile, 0o400, "", false},
		{certFile, 0o664, "chmod 644 ", false}, {certFile, 0o646, "chmod 644 ", false}, {certFile, 0o600, "", false}, {certFile, 0o644, "", false},
	} {
		folder := filepath.Join(t.TempDir(), "keys")
		if c.empty {
			if err := os.Mkdir(folder, 0o700); err != nil {
				t.Fatal(err)
			}
		} else {
			open(t, folder, noon)
		}
		path := filepath.Join(folder, c.name)
		if err := os.Chmod(path, c.mode); err != nil {
			t.Fatal(err)
		}
		_, err := Open(folder, "x", rand.Reader, at(noon))
		if c.hint == "" && err != nil {
			t.Errorf("%q with %o: %v", c.name, c.mode, err)
		}
		var f *fault.Error
		if c.hint != "" && (!errors.As(err, &f) || f.Kind != fault.KindForbidden || f.Hint != c.hint+path) {
			t.Errorf("%q with %o: %v, want %s%s", c.name, c.mode, err, c.hint, path)
		}
		if info, err := os.Stat(path); err != nil || info.Mode().Perm() != c.mode {
			t.Errorf("%q with %o was changed: %v, %v", c.name, c.mode, info.Mode(), err)
		}
	}
}

// One of the pair alone is never the beginning of another authority, which no tablet
// knows: it is said what is missing, and what is left stays as it was.
func TestOpen_HalfGone(t *testing.T) {
	t.Parallel()
	for missing, left := range map[string]string{keyFile: certFile, certFile: keyFile} {
		folder := filepath.Join(t.TempDir(), "keys")
		first := open(t, folder, noon)
		backup, err := os.ReadFile(filepath.Join(folder, missing))
		if err != nil {
			t.Fatal(err)
		}
		before, err := os.ReadFile(filepath.Join(folder, left))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Remove(filepath.Join(folder, missing)); err != nil {
			t.Fatal(err)
		}
		var f *fault.Error
		if _, err := Open(folder, "x", rand.Reader, at(noon)); !errors.As(err, &f) || f.Kind != fault.KindNotFound ||
			!strings.Contains(f.Text, missing+" is missing beside "+left) || !strings.Contains(f.Hint, "bring "+missing+" back from a backup") || !strings.Contains(f.Hint, "take "+left+" away too") {
			t.Errorf("without %s: %v", missing, err)
		}
		if after, err := os.ReadFile(filepath.Join(folder, left)); err != nil || string(after) != string(before) {
			t.Errorf("%s was changed: %v", left, err)
		}
		// Either way out that is named works.
		if err := os.WriteFile(filepath.Join(folder, missing), backup, 0o600); err != nil {
			t.Fatal(err)
		}
		if again := open(t, folder, noon); again.Fingerprint() != first.Fingerprint() {
			t.Errorf("with %s from the backup it is another authority", missing)
		}
		for _, name := range []string{missing, left} {
			if err := os.Remove(filepath.Join(folder, name)); err != nil {
				t.Fatal(err)
			}
		}
		if again := open(t, folder, noon); again.Fingerprint() == first.Fingerprint() {
			t.Error("without both it is the authority of before")
		}
	}
}
