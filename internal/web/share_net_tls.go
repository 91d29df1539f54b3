package web

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// certFile is the certificate with its key, in the data folder, readable by
// its owner only. It is in no backup: it belongs to this machine.
const certFile = "share-tls.pem"

const (
	// certLife stays below 825 days, which is what Apple's systems take of a
	// certificate that a person has come to trust by hand (support article
	// 103769 "Requirements for trusted certificates in iOS 13 and macOS
	// 10.15"; from memory).
	certLife = 800 * 24 * time.Hour
	// certRenew is how long before its end a new one is made.
	certRenew = 30 * 24 * time.Hour
	// certEarly is how far another device's clock may be behind.
	certEarly = 24 * time.Hour
)

// certificate is what the app shows under TLS, and the issuer that a phone may
// be told to trust. The issuer's key is thrown away once it has signed: an
// issuer that a phone trusts can then never speak for anything but this app at
// these addresses.
type certificate struct {
	leaf   tls.Certificate
	issuer *x509.Certificate
}

func (c *certificate) config() *tls.Config {
	return &tls.Config{Certificates: []tls.Certificate{c.leaf}, MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}}
}

// Fingerprint is the SHA-256 of the certificate that a browser's warning
// shows.
func (c *certificate) Fingerprint() string { return fingerprint(c.leaf.Certificate[0]) }

// Issuer is the SHA-256 of the certificate that a phone's settings show when
// it is told to trust it.
func (c *certificate) Issuer() string { return fingerprint(c.issuer.Raw) }

// FingerprintLines and IssuerLines are the same for the eye.
func (c *certificate) FingerprintLines() []string { return printLines(c.Fingerprint()) }
func (c *certificate) IssuerLines() []string      { return printLines(c.Issuer()) }

// Until is when it ends.
func (c *certificate) Until() time.Time { return c.leaf.Leaf.NotAfter }

func fingerprint(der []byte) string {
	sum := sha256.Sum256(der)
	text := strings.ToUpper(hex.EncodeToString(sum[:]))
	var b strings.Builder
	for i := 0; i < len(text); i += 2 {
		if i > 0 {
			b.WriteByte(':')
		}
		b.WriteString(text[i : i+2])
	}
	return b.String()
}

// printLines cuts a fingerprint into lines of eight pairs, which are easier to
// compare.
func printLines(text string) []string {
	const line = 8 * 3
	var list []string
	for ; len(text) > line; text = text[line:] {
		list = append(list, text[:line-1])
	}
	return append(list, text)
}

// certificateFor reads the kept certificate, or makes one when there is none,
// when it is soon at its end, or when it is not for these addresses.
func certificateFor(dir string, addrs []netip.Addr, now time.Time) (*certificate, error) {
	path := filepath.Join(dir, certFile)
	text, err := os.ReadFile(path)
	switch {
	case err == nil:
		if c, err := parseCertificate(text); err == nil && c.serves(addrs, now) {
			return c, os.Chmod(path, 0o600)
		}
	case !errors.Is(err, fs.ErrNotExist):
		return nil, err
	}
	text, err = makeCertificate(addrs, now)
	if err != nil {
		return nil, err
	}
	if err := keepSecret(path, text); err != nil {
		return nil, err
	}
	return parseCertificate(text)
}

// keepSecret writes a file that its owner alone may read, whole or not at all.
func keepSecret(path string, text []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".share-*") // made with 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(text)
	err = errors.Join(err, f.Chmod(0o600), f.Sync(), f.Close())
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// serves reports whether the certificate is for all the addresses and good for
// a while yet.
func (c *certificate) serves(addrs []netip.Addr, now time.Time) bool {
	for _, a := range addrs {
		if c.leaf.Leaf.VerifyHostname(a.WithZone("").String()) != nil {
			return false
		}
	}
	pool := x509.NewCertPool()
	pool.AddCert(c.issuer)
	_, err := c.leaf.Leaf.Verify(x509.VerifyOptions{Roots: pool, CurrentTime: now})
	return err == nil && now.Add(certRenew).Before(c.leaf.Leaf.NotAfter)
}

// parseCertificate reads leaf, issuer and the leaf's key.
func parseCertificate(text []byte) (*certificate, error) {
	pair, err := tls.X509KeyPair(text, text)
	if err != nil {
		return nil, err
	}
	if len(pair.Certificate) != 2 {
		return nil, fmt.Errorf("%d certificates in %s, not two", len(pair.Certificate), certFile)
	}
	if pair.Leaf, err = x509.ParseCertificate(pair.Certificate[0]); err != nil {
		return nil, err
	}
	issuer, err := x509.ParseCertificate(pair.Certificate[1])
	if err != nil {
		return nil, err
	}
	return &certificate{pair, issuer}, nil
}

// makeCertificate makes an issuer and, signed by it, a certificate for the
// addresses; both ECDSA on P-256. The issuer is held to those addresses by
// name constraints, and its key is not kept.
func makeCertificate(addrs []netip.Addr, now time.Time) ([]byte, error) {
	issuerKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	leafKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	issuer, leaf, err := certTemplates(addrs, now)
	if err != nil {
		return nil, err
	}
	issuerDER, err := x509.CreateCertificate(rand.Reader, issuer, issuer, &issuerKey.PublicKey, issuerKey)
	if err != nil {
		return nil, err
	}
	if issuer, err = x509.ParseCertificate(issuerDER); err != nil {
		return nil, err
	}
	leafDER, err := x509.CreateCertificate(rand.Reader, leaf, issuer, &leafKey.PublicKey, issuerKey)
	if err != nil {
		return nil, err
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(leafKey)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	for _, block := range []*pem.Block{{Type: "CERTIFICATE", Bytes: leafDER}, {Type: "CERTIFICATE", Bytes: issuerDER}, {Type: "PRIVATE KEY", Bytes: keyDER}} {
		if err := pem.Encode(&b, block); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}

func certTemplates(addrs []netip.Addr, now time.Time) (issuer, leaf *x509.Certificate, err error) {
	serial := func() *big.Int {
		if err != nil {
			return nil
		}
		var n *big.Int
		n, err = rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 126))
		return n
	}
	from, to := now.Add(-certEarly), now.Add(certLife-certEarly)
	issuer = &x509.Certificate{SerialNumber: serial(), Subject: pkix.Name{CommonName: "Firlot on this home network, issuer"},
		NotBefore: from, NotAfter: to, IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true, KeyUsage: x509.KeyUsageCertSign,
		PermittedDNSDomainsCritical: true, ExcludedDNSDomains: []string{""}}
	leaf = &x509.Certificate{SerialNumber: serial(), Subject: pkix.Name{CommonName: "Firlot on this home network"},
		NotBefore: from, NotAfter: to, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	for _, a := range addrs {
		ip := net.IP(a.WithZone("").AsSlice())
		leaf.IPAddresses = append(leaf.IPAddresses, ip)
		issuer.PermittedIPRanges = append(issuer.PermittedIPRanges, &net.IPNet{IP: ip, Mask: net.CIDRMask(a.BitLen(), a.BitLen())})
	}
	return issuer, leaf, err
}
