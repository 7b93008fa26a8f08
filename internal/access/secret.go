package access

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"io"
	"math/big"
	"strconv"

	"slabside/internal/fault"
)

// secretBytes is the length of a secret: nobody guesses 256 bits.
const secretBytes = 32

// newSecret returns a secret to hand out and what is kept of it.
func newSecret(random io.Reader) (secret, kept string, err error) {
	b := make([]byte, secretBytes)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", "", fault.Internal(err, "no secret could be made")
	}
	secret = base64.RawURLEncoding.EncodeToString(b)
	return secret, keptOf(secret), nil
}

// keptOf is what is kept of a secret. It is looked up as a whole, so that the time
// it takes tells nothing of the secret.
func keptOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// digits returns so many decimal digits, each as likely as the next.
func digits(random io.Reader, n int) (string, error) {
	ten := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil)
	// Eight bytes more than needed leave a bias of 2⁻⁶⁴.
	b := make([]byte, len(ten.Bytes())+8)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", fault.Internal(err, "no code could be made")
	}
	v := new(big.Int).Mod(new(big.Int).SetBytes(b), ten).String()
	for len(v) < n {
		v = "0" + v
	}
	return v, nil
}

// newID returns a short name for a thing of a list, unused in it.
func newID(prefix string, used func(string) bool) string {
	for i := 1; ; i++ {
		if id := prefix + strconv.Itoa(i); !used(id) {
			return id
		}
	}
}
