package door

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// CA is a certificate authority of this machine alone, and a certificate that it gave the server.
type CA struct {
	Cert   tls.Certificate // of the server, with the authority's
	DER    []byte          // the authority's certificate, as phones take it
	Finger string          // its SHA-256, in pairs of hex digits
}

// How long certificates last: Apple takes no server certificate of more than 825 days, even of an authority added by hand.
const (
	caYears       = 10
	serverDays    = 397
	renewDaysLeft = 30
)

// The files of an authority in its folder.
const (
	caCertFile, caKeyFile         = "ca.crt", "ca.key"
	serverCertFile, serverKeyFile = "server.crt", "server.key"
)

// MakeCA reads the authority in the folder dir, or makes one, and gives the server a certificate for the names and addresses. One that
// still fits is kept. The authority may speak only of local names and private addresses, so that a phone that trusts it does so for
// this network alone. The keys are readable by their owner alone.
func MakeCA(dir string, names []string, addrs []netip.Addr, now time.Time) (*CA, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("door: the folder for certificates cannot be made: %w", err)
	}
	ca, err := readPair(dir, caCertFile, caKeyFile)
	if errors.Is(err, os.ErrNotExist) {
		ca, err = newAuthority(dir, names, now)
	}
	if err != nil {
		return nil, err
	}
	if now.After(ca.Leaf.NotAfter) {
		return nil, fmt.Errorf("door: the certificate authority in %s ended on %s; delete the folder to make a new one, and put it on the phones anew", dir, ca.Leaf.NotAfter.Format("2 January 2006"))
	}
	addrs = allowed(addrs)
	server, err := readPair(dir, serverCertFile, serverKeyFile)
	if errors.Is(err, os.ErrNotExist) || err == nil && !fits(server.Leaf, ca.Leaf, names, addrs, now) {
		server, err = newServer(dir, ca, names, addrs, now)
	}
	if err != nil {
		return nil, err
	}
	der := ca.Certificate[0]
	server.Certificate = append(server.Certificate[:1], der)
	return &CA{*server, der, Fingerprint(der)}, nil
}

// Fingerprint is the SHA-256 of a certificate as people compare it.
func Fingerprint(der []byte) string {
	sum := sha256.Sum256(der)
	var pairs []string
	for _, b := range sum {
		pairs = append(pairs, fmt.Sprintf("%02X", b))
	}
	return strings.Join(pairs, ":")
}

// Names are those of this machine on its network: its own, that with .local (RFC 6762), and localhost.
func Names() []string {
	names := []string{"localhost"}
	host, err := os.Hostname()
	if host = strings.ToLower(host); err != nil || host == "" || host == "localhost" {
		return names
	}
	names = append(names, host)
	if !strings.Contains(host, ".") {
		names = append(names, host+".local")
	}
	return names
}

// local are the networks that an authority may speak of (RFC 1918, 4193, 3927, 4291).
var local = prefixes("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128")

func prefixes(list ...string) (out []netip.Prefix) {
	for _, s := range list {
		out = append(out, netip.MustParsePrefix(s))
	}
	return out
}

// allowed are the addresses that the authority may speak of, and loopback's.
func allowed(addrs []netip.Addr) []netip.Addr {
	out := []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.IPv6Loopback()}
	for _, a := range addrs {
		a = a.Unmap().WithZone("")
		inside := slices.ContainsFunc(local, func(p netip.Prefix) bool { return p.Contains(a) })
		if inside && !slices.Contains(out, a) {
			out = append(out, a)
		}
	}
	return out
}

func newAuthority(dir string, names []string, now time.Time) (*tls.Certificate, error) {
	host := names[len(names)-1]
	t := &x509.Certificate{
		Subject:   pkix.Name{CommonName: "gristmark on " + host, Organization: []string{"gristmark, this network only"}},
		NotBefore: now.Add(-time.Hour), NotAfter: now.AddDate(caYears, 0, 0),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         append([]string{"local"}, names...),
	}
	for _, p := range local {
		t.PermittedIPRanges = append(t.PermittedIPRanges, &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())})
	}
	return issue(dir, caCertFile, caKeyFile, t, nil)
}

func newServer(dir string, ca *tls.Certificate, names []string, addrs []netip.Addr, now time.Time) (*tls.Certificate, error) {
	t := &x509.Certificate{
		Subject:   pkix.Name{CommonName: names[len(names)-1]},
		NotBefore: now.Add(-time.Hour), NotAfter: now.AddDate(0, 0, serverDays),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true,
	}
	for _, n := range names {
		if permitted(ca.Leaf, n) {
			t.DNSNames = append(t.DNSNames, n)
		}
	}
	for _, a := range addrs {
		t.IPAddresses = append(t.IPAddresses, a.AsSlice())
	}
	if ca.Leaf.NotAfter.Before(t.NotAfter) {
		t.NotAfter = ca.Leaf.NotAfter
	}
	return issue(dir, serverCertFile, serverKeyFile, t, ca)
}

// permitted: the machine may have got another name since the authority was made.
func permitted(ca *x509.Certificate, name string) bool {
	return slices.ContainsFunc(ca.PermittedDNSDomains, func(d string) bool { return name == d || strings.HasSuffix(name, "."+d) })
}

// issue makes a key and a certificate for it, signed by the parent or by itself, and writes both.
func issue(dir, certFile, keyFile string, t *x509.Certificate, parent *tls.Certificate) (*tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("door: no key: %w", err)
	}
	if t.SerialNumber, err = rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120)); err != nil {
		return nil, fmt.Errorf("door: no serial number: %w", err)
	}
	signer, by := any(key), t
	if parent != nil {
		signer, by = parent.PrivateKey, parent.Leaf
	}
	der, err := x509.CreateCertificate(rand.Reader, t, by, &key.PublicKey, signer)
	if err != nil {
		return nil, fmt.Errorf("door: no certificate: %w", err)
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, fmt.Errorf("door: no key: %w", err)
	}
	err = errors.Join(
		writePEM(filepath.Join(dir, keyFile), "PRIVATE KEY", keyDER, 0o600),
		writePEM(filepath.Join(dir, certFile), "CERTIFICATE", der, 0o644))
	if err != nil {
		return nil, err
	}
	return readPair(dir, certFile, keyFile)
}

func writePEM(path, kind string, der []byte, mode os.FileMode) error {
	next := path + ".new"
	if err := os.WriteFile(next, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), mode); err != nil {
		return fmt.Errorf("door: the certificate cannot be kept: %w", err)
	}
	return os.Rename(next, path)
}

func readPair(dir, certFile, keyFile string) (*tls.Certificate, error) {
	pair, err := tls.LoadX509KeyPair(filepath.Join(dir, certFile), filepath.Join(dir, keyFile))
	if err != nil {
		return nil, fmt.Errorf("door: certificate and key in %s: %w", filepath.Join(dir, certFile), err)
	}
	return &pair, nil
}

// fits reports whether the server's certificate still speaks of all names and addresses, and will for a while.
func fits(cert, ca *x509.Certificate, names []string, addrs []netip.Addr, now time.Time) bool {
	if cert.CheckSignatureFrom(ca) != nil || now.AddDate(0, 0, renewDaysLeft).After(cert.NotAfter) || now.Before(cert.NotBefore) {
		return false
	}
	for _, n := range names {
		if permitted(ca, n) && cert.VerifyHostname(n) != nil {
			return false
		}
	}
	for _, a := range addrs {
		if cert.VerifyHostname(a.String()) != nil {
			return false
		}
	}
	return true
}
