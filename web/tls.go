package web

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
	"io/fs"
	"math/big"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Authority is a certificate authority of the server's own, for places without
// another. A device trusts it once; its fingerprint is read out to the person
// who installs it.
type Authority struct {
	PEM         []byte // for the devices
	Fingerprint string // SHA-256 in pairs of hex digits
	cert        *x509.Certificate
	key         *ecdsa.PrivateKey
}

const (
	authorityFile = "authority.pem"
	authorityKey  = "authority-key.pem"
	authorityLife = 5 * 365 * 24 * time.Hour
	serverLife    = 90 * 24 * time.Hour // renewed at every start
)

// OwnAuthority reads the authority kept in a directory, or makes one: two files
// that only their owner may read. It can vouch for the given names and for
// addresses of private networks, and for nothing else (name constraints, RFC
// 5280, 4.2.1.10), so that a stolen key is of use against this server alone.
func OwnAuthority(dir string, names []string) (*Authority, error) {
	certPath, keyPath := filepath.Join(dir, authorityFile), filepath.Join(dir, authorityKey)
	pair, err := tls.LoadX509KeyPair(certPath, keyPath)
	if errors.Is(err, fs.ErrNotExist) {
		if err := makeAuthority(certPath, keyPath, names); err != nil {
			return nil, fmt.Errorf("make an authority in %s: %w", dir, err)
		}
		pair, err = tls.LoadX509KeyPair(certPath, keyPath)
	}
	if err != nil {
		return nil, fmt.Errorf("read the authority in %s: %w", dir, err)
	}
	cert, err := x509.ParseCertificate(pair.Certificate[0])
	if err != nil {
		return nil, fmt.Errorf("read the authority in %s: %w", dir, err)
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok || !cert.IsCA {
		return nil, fmt.Errorf("%s is not an authority of this program's making", certPath)
	}
	sum := sha256.Sum256(cert.Raw)
	return &Authority{
		PEM:         pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: cert.Raw}),
		Fingerprint: strings.ReplaceAll(fmt.Sprintf("% X", sum[:]), " ", ":"),
		cert:        cert, key: key,
	}, nil
}

func makeAuthority(certPath, keyPath string, names []string) error {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return err
	}
	t := template("Stopledger authority of this ledger", authorityLife)
	t.IsCA, t.BasicConstraintsValid, t.MaxPathLenZero = true, true, true
	t.KeyUsage = x509.KeyUsageCertSign
	t.PermittedDNSDomainsCritical = true
	t.PermittedDNSDomains = append([]string{"localhost"}, dnsNames(names)...)
	t.PermittedIPRanges = permittedRanges(names)
	der, err := x509.CreateCertificate(rand.Reader, t, t, key.Public(), key)
	if err != nil {
		return err
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	// The key first: a certificate without its key would be taken for damage.
	err = writePEM(keyPath, "PRIVATE KEY", secret)
	return errors.Join(err, writePEM(certPath, "CERTIFICATE", der))
}

func writePEM(path, kind string, der []byte) error {
	return os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o600)
}

func template(name string, life time.Duration) *x509.Certificate {
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		panic(err) // crypto/rand never fails
	}
	now := time.Now()
	return &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: name},
		NotBefore: now.Add(-time.Hour), NotAfter: now.Add(life), // an hour for clocks that are behind
	}
}

// Config makes a certificate for the names and addresses a server answers for.
func (a *Authority) Config(names []string) (*tls.Config, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	t := template("Stopledger", serverLife)
	t.KeyUsage, t.ExtKeyUsage = x509.KeyUsageDigitalSignature, []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}
	t.DNSNames = append([]string{"localhost"}, dnsNames(names)...)
	t.IPAddresses = append([]net.IP{net.IPv4(127, 0, 0, 1), net.IPv6loopback}, addresses(names)...)
	der, err := x509.CreateCertificate(rand.Reader, t, a.cert, key.Public(), a.key)
	if err != nil {
		return nil, fmt.Errorf("make the server's certificate: %w", err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	roots := x509.NewCertPool()
	roots.AddCert(a.cert)
	if _, err := leaf.Verify(x509.VerifyOptions{Roots: roots}); err != nil {
		return nil, fmt.Errorf("the authority of this ledger may not vouch for %s: %w; remove %s and %s to make another, and install that on every device",
			strings.Join(names, ", "), err, authorityFile, authorityKey)
	}
	return &tls.Config{MinVersion: tls.VersionTLS12, Certificates: []tls.Certificate{{Certificate: [][]byte{der, a.cert.Raw}, PrivateKey: key}}}, nil
}

func dnsNames(names []string) (out []string) {
	for _, n := range names {
		if net.ParseIP(n) == nil {
			out = append(out, n)
		}
	}
	return out
}

func addresses(names []string) (out []net.IP) {
	for _, n := range names {
		if ip := net.ParseIP(n); ip != nil {
			out = append(out, ip)
		}
	}
	return out
}

// permittedRanges are the private networks (RFC 1918, RFC 4193), link-local and
// loopback, and the addresses named.
func permittedRanges(names []string) (out []*net.IPNet) {
	for _, text := range []string{"127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "::1/128", "fc00::/7", "fe80::/10"} {
		_, block, err := net.ParseCIDR(text)
		if err != nil {
			panic(err) // the list above
		}
		out = append(out, block)
	}
	for _, ip := range addresses(names) {
		bits := 8 * net.IPv6len
		if four := ip.To4(); four != nil {
			ip, bits = four, 8*net.IPv4len
		}
		out = append(out, &net.IPNet{IP: ip, Mask: net.CIDRMask(bits, bits)})
	}
	return out
}

// getAuthority hands the certificate to a device that is to trust it. Its
// fingerprint must be compared with what the server printed.
func (s *Server) getAuthority(w http.ResponseWriter, r *http.Request) {
	if len(s.ca) == 0 {
		s.fail(w, r, faultf(notFound, "this server has no authority of its own"))
		return
	}
	w.Header().Set("Content-Type", "application/x-x509-ca-cert")
	w.Header().Set("Content-Disposition", `attachment; filename="stopledger-authority.pem"`)
	_, _ = w.Write(s.ca)
}
