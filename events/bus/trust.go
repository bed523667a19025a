package bus

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"os"
)

// trusting is a TLS client that trusts the authority in a file and no other.
func trusting(path string) (*tls.Config, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read the authority: %w", err)
	}
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(text) {
		return nil, fmt.Errorf("read the authority: %s holds no certificate in PEM", path)
	}
	return &tls.Config{MinVersion: tls.VersionTLS12, RootCAs: roots}, nil
}
