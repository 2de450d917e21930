package door

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func TestAuthority(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "ca")
	now := time.Now()
	names, addrs := []string{"localhost", "truck", "truck.local"}, []netip.Addr{netip.MustParseAddr("192.168.7.20"), netip.MustParseAddr("203.0.113.5")}
	ca, err := MakeCA(dir, names, addrs, now)
	if err != nil {
		t.Fatal(err)
	}
	root, err := x509.ParseCertificate(ca.DER)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(root)
	for _, name := range []string{"truck", "truck.local", "localhost", "192.168.7.20", "127.0.0.1"} {
		if _, err := ca.Cert.Leaf.Verify(x509.VerifyOptions{DNSName: name, Roots: pool, CurrentTime: now}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if ca.Cert.Leaf.VerifyHostname("203.0.113.5") == nil {
		t.Error("it speaks of an address that is not of a local network")
	}
	if days := ca.Cert.Leaf.NotAfter.Sub(now).Hours() / 24; days > 825 {
		t.Errorf("the certificate lasts %.0f days, more than phones take", days)
	}
	for _, key := range []string{caKeyFile, serverKeyFile} {
		if info, err := os.Stat(filepath.Join(dir, key)); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", key, info.Mode(), err)
		}
	}
}

// The authority may not speak of other names, even where its key is stolen.
func TestAuthorityIsConfined(t *testing.T) {
	dir := t.TempDir()
	ca, err := MakeCA(dir, []string{"localhost", "truck"}, nil, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	pair, err := readPair(dir, caCertFile, caKeyFile)
	if err != nil {
		t.Fatal(err)
	}
	thief := &x509.Certificate{NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), DNSNames: []string{"bank.example"}}
	forged, err := issue(t.TempDir(), serverCertFile, serverKeyFile, thief, pair)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(pair.Leaf)
	_, err = forged.Leaf.Verify(x509.VerifyOptions{DNSName: "bank.example", Roots: pool})
	var invalid x509.CertificateInvalidError
	if !errors.As(err, &invalid) || invalid.Reason != x509.CANotAuthorizedForThisName {
		t.Errorf("a certificate for another name: %v", err)
	}
	if ca.Finger != Fingerprint(pair.Certificate[0]) || len(ca.Finger) != 32*3-1 {
		t.Errorf("fingerprint %s", ca.Finger)
	}
}

func TestAuthorityIsKept(t *testing.T) {
	dir, now := t.TempDir(), time.Now()
	names := []string{"localhost", "truck"}
	make := func(names []string, at time.Time, addrs ...string) *CA {
		var list []netip.Addr
		for _, a := range addrs {
			list = append(list, netip.MustParseAddr(a))
		}
		ca, err := MakeCA(dir, names, list, at)
		if err != nil {
			t.Fatal(err)
		}
		return ca
	}
	first, again := make(names, now, "10.0.0.4"), make(names, now, "10.0.0.4")
	if !bytes.Equal(first.Cert.Certificate[0], again.Cert.Certificate[0]) {
		t.Error("a certificate that fits was made anew")
	}
	moved := make(names, now, "10.0.0.5")
	if !bytes.Equal(first.DER, moved.DER) || moved.Cert.Leaf.VerifyHostname("10.0.0.5") != nil {
		t.Error("in another network it does not speak of the new address, or phones must trust it anew")
	}
	late := make(names, now.AddDate(0, 0, serverDays-10), "10.0.0.5")
	if bytes.Equal(late.Cert.Certificate[0], moved.Cert.Certificate[0]) || !bytes.Equal(first.DER, late.DER) {
		t.Error("it was not renewed in time")
	}
	if _, err := MakeCA(dir, names, nil, now.AddDate(caYears+1, 0, 0)); err == nil {
		t.Error("an authority that has ended was used")
	}
	renamed := make([]string{"localhost", "other"}, now, "10.0.0.5")
	if renamed.Cert.Leaf.VerifyHostname("10.0.0.5") != nil {
		t.Error("after the machine got another name its address is not served any more")
	}
}

func TestEitherTellsApart(t *testing.T) {
	ca, err := MakeCA(t.TempDir(), []string{"localhost"}, nil, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	e := NewEither(l)
	secure := &http.Server{TLSConfig: &tls.Config{Certificates: []tls.Certificate{ca.Cert}}, Handler: say("secret")}
	plain := &http.Server{Handler: say("plain")}
	ended := make(chan error, 2)
	go func() { ended <- secure.ServeTLS(e.TLS(), "", "") }()
	go func() { ended <- plain.Serve(e.Plain()) }()
	root, _ := x509.ParseCertificate(ca.DER)
	pool := x509.NewCertPool()
	pool.AddCert(root)
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}, ForceAttemptHTTP2: true}}
	silent, err := net.Dial("tcp", l.Addr().String()) // says nothing and holds up nobody
	if err != nil {
		t.Fatal(err)
	}
	defer silent.Close()
	for scheme, want := range map[string]string{"https": "secret", "http": "plain"} {
		res, err := client.Get(scheme + "://" + l.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		got, _ := io.ReadAll(res.Body)
		res.Body.Close()
		if string(got) != want {
			t.Errorf("%s: %s", scheme, got)
		}
	}
	secure.Close()
	plain.Close()
	for range 2 {
		if err := <-ended; !errors.Is(err, http.ErrServerClosed) && !errors.Is(err, net.ErrClosed) {
			t.Errorf("ended: %v", err)
		}
	}
}

func say(text string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, text) })
}
