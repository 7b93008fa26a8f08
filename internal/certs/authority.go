package certs

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"slabside/internal/fault"
)

// How long certificates hold. Browsers take one of a server for 398 days at most.
const (
	authorityYears = 10
	serverDays     = 180
	renewDays      = 60 // before the end
)

// The names of the two files in the folder.
const (
	certFile = "shop-ca.crt"
	keyFile  = "shop-ca.key"
)

// Authority is the shop's own certificate authority.
type Authority struct {
	cert   *x509.Certificate
	key    crypto.Signer
	random io.Reader
	now    func() time.Time
}

// privateNets are the networks whose addresses it may vouch for: RFC 1918, RFC
// 4193, RFC 3927, RFC 4291 (link-local), and this machine.
func privateNets() []*net.IPNet {
	var out []*net.IPNet
	for _, s := range []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128"} {
		_, n, _ := net.ParseCIDR(s)
		out = append(out, n)
	}
	return out
}

// localNames are the domains whose names it may vouch for: those that no public site
// has (RFC 6761, RFC 6762, RFC 8375). This machine's bare name is none of them: a
// constraint covers what stands below a name too (RFC 5280, 4.2.1.10), and "shop" or
// "kitchen" are domains of public sites.
var localNames = [...]string{"local", "localhost", "home.arpa"}

// Open opens the authority of a folder, or makes it there with the machine's host
// name if neither its key nor its certificate is there.
//
// The folder and the key must be their owner's alone (0700, 0600), and others may not
// write the certificate. What others may read is refused and not tightened: they may
// have read it already, and somebody should know.
//
// Faults: Forbidden for permissions that are wider, or that keep the program itself
// out; NotFound for a key without its certificate or a certificate without its key,
// since tablets trust that pair; Invalid for a certificate that has ended; Internal for
// files that cannot be used.
func Open(folder, host string, random io.Reader, now func() time.Time) (*Authority, error) {
	a := &Authority{random: random, now: now}
	there, err := standing(folder)
	if err == nil && !there {
		err = a.make(folder, host)
	}
	if err == nil {
		err = a.read(folder)
	}
	var f *fault.Error
	switch {
	case err == nil:
		return a, nil
	case errors.As(err, &f):
		return nil, err
	case errors.Is(err, fs.ErrPermission):
		return nil, fault.Forbidden("the keys in %s may not be read or written", filepath.Base(folder)).WithCause(err).WithHint("let the user that runs the program own the folder")
	}
	return nil, fault.Internal(err, "the keys in %s cannot be used", filepath.Base(folder)).WithHint("bring the folder back from a backup, or take it away to begin again; every tablet then needs the new certificate")
}

// standing reports whether an authority is in the folder, whole and its owner's alone.
func standing(folder string) (bool, error) {
	there := map[string]bool{}
	for _, x := range []struct {
		name, what string
		others     fs.FileMode // what they must not be given
		mode       string
	}{
		{"", "open the folder of the keys", 0o077, "700"},
		{keyFile, "read the key of the certificates", 0o077, "600"},
		{certFile, "write the certificate", 0o022, "644"},
	} {
		path := filepath.Join(folder, x.name)
		info, err := os.Stat(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return false, err
		}
		there[x.name] = true
		if os.PathSeparator == '/' && info.Mode().Perm()&x.others != 0 {
			return false, fault.Forbidden("others on this machine may %s, %s", x.what, path).WithHint("chmod %s %s", x.mode, path)
		}
	}
	if there[keyFile] != there[certFile] {
		missing, left := keyFile, certFile
		if there[keyFile] {
			missing, left = certFile, keyFile
		}
		return false, fault.NotFound("%s is missing beside %s in %s", missing, left, folder).
			WithHint("bring %s back from a backup; or, if every tablet shall install a new certificate, take %s away too", missing, left)
	}
	return there[keyFile], nil
}

func (a *Authority) read(folder string) error {
	pair, err := tls.LoadX509KeyPair(filepath.Join(folder, certFile), filepath.Join(folder, keyFile))
	if err != nil {
		return err
	}
	a.cert = pair.Leaf
	var ok bool
	if a.key, ok = pair.PrivateKey.(crypto.Signer); !ok || !a.cert.IsCA {
		return errors.New("not the certificate of an authority")
	}
	if !a.now().Before(a.cert.NotAfter) {
		return fault.Invalid("the shop's own certificate ended on %s", a.cert.NotAfter.Format(time.DateOnly)).
			WithHint("take the folder %s away to begin again; every tablet then needs the new certificate", filepath.Base(folder))
	}
	return nil
}

// make writes a new authority; the key before the certificate, so that a certificate
// that was handed out has a key.
func (a *Authority) make(folder, host string) error {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return err
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), a.random)
	if err != nil {
		return err
	}
	serial, err := a.serial()
	if err != nil {
		return err
	}
	now := a.now().UTC()
	t := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: "Slabside on " + host, Organization: []string{"This shop's own authority"}},
		NotBefore: now.Add(-time.Hour), NotAfter: now.AddDate(authorityYears, 0, 0),
		KeyUsage: x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: localNames[:], PermittedIPRanges: privateNets(),
	}
	der, err := x509.CreateCertificate(a.random, t, t, key.Public(), key)
	if err != nil {
		return err
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	if err := write(filepath.Join(folder, keyFile), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: keyDER}), 0o600); err != nil {
		return err
	}
	return write(filepath.Join(folder, certFile), pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o644)
}

// write puts a whole file in its place.
func write(path string, data []byte, mode os.FileMode) error {
	tmp := path + ".new"
	if err := os.WriteFile(tmp, data, mode); err != nil {
		return err
	}
	if err := os.Chmod(tmp, mode); err != nil {
		return err
	}
	return os.Rename(tmp, path)
}

func (a *Authority) serial() (*big.Int, error) {
	b := make([]byte, 16)
	if _, err := io.ReadFull(a.random, b); err != nil {
		return nil, err
	}
	b[0] &= 0x7f
	return new(big.Int).SetBytes(b), nil
}

// Certificate returns the certificate to install on tablets, PEM.
func (a *Authority) Certificate() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: a.cert.Raw})
}

// Fingerprint returns the SHA-256 of the certificate as people compare it, four
// bytes at a time.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.cert.Raw)
	var parts []string
	for i := 0; i < len(sum); i += 4 {
		parts = append(parts, fmt.Sprintf("%02X:%02X:%02X:%02X", sum[i], sum[i+1], sum[i+2], sum[i+3]))
	}
	return strings.Join(parts, " ")
}

// Server returns a certificate for the names and addresses, signed by the authority.
// Names and addresses it may not vouch for are refused: Invalid.
func (a *Authority) Server(names []string) (*tls.Certificate, error) {
	t := &x509.Certificate{KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	for _, n := range names {
		if ip := net.ParseIP(n); ip != nil {
			if !slices.ContainsFunc(a.cert.PermittedIPRanges, func(r *net.IPNet) bool { return r.Contains(ip) }) {
				return nil, fault.Invalid("%s is no address of a private network", n).WithHint("serve the pages on an address such as 192.168.1.20")
			}
			t.IPAddresses = append(t.IPAddresses, ip)
			continue
		}
		if !slices.ContainsFunc(a.cert.PermittedDNSDomains, func(d string) bool { return n == d || strings.HasSuffix(n, "."+d) }) {
			return nil, fault.Invalid("the shop's own certificate does not cover the name %s", n)
		}
		t.DNSNames = append(t.DNSNames, n)
	}
	if len(names) == 0 {
		return nil, fault.Invalid("a certificate for no name")
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), a.random)
	if err != nil {
		return nil, fault.Internal(err, "no key could be made")
	}
	if t.SerialNumber, err = a.serial(); err != nil {
		return nil, fault.Internal(err, "no certificate could be made")
	}
	now := a.now().UTC()
	t.Subject = pkix.Name{CommonName: names[0]}
	t.NotBefore, t.NotAfter = now.Add(-time.Hour), now.AddDate(0, 0, serverDays)
	if t.NotAfter.After(a.cert.NotAfter) {
		t.NotAfter = a.cert.NotAfter
	}
	der, err := x509.CreateCertificate(a.random, t, a.cert, key.Public(), a.key)
	if err != nil {
		return nil, fault.Internal(err, "no certificate could be made")
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, fault.Internal(err, "no certificate could be made")
	}
	return &tls.Certificate{Certificate: [][]byte{der, a.cert.Raw}, PrivateKey: key, Leaf: leaf}, nil
}
