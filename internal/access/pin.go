package access

import (
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"io"
	"strings"

	"golang.org/x/crypto/argon2"

	"slabside/internal/fault"
)

// The cost of a PIN's hash: the first choice of the OWASP password storage cheat
// sheet for argon2id (from memory): 19 MiB, two passes, one lane.
const (
	pinMemory = 19 * 1024 // KiB
	pinPasses = 2
	pinSalt   = 16 // bytes
	pinHash   = 32 // bytes
)

// How long a PIN is.
const (
	LeastPIN = 6
	MostPIN  = 12
)

// CheckPIN refuses what is no PIN: other than 6 to 12 digits, one digit over and
// over, or digits in a row.
func CheckPIN(pin string) error {
	hint := func(e *fault.Error) error { return e.At("pin").WithHint("choose %d to %d digits", LeastPIN, MostPIN) }
	if len(pin) < LeastPIN || len(pin) > MostPIN {
		return hint(fault.Invalid("the PIN has not %d to %d digits", LeastPIN, MostPIN))
	}
	steps := map[int]bool{}
	for i := range len(pin) {
		if pin[i] < '0' || pin[i] > '9' {
			return hint(fault.Invalid("the PIN holds something else than digits"))
		}
		if i > 0 {
			steps[int(pin[i])-int(pin[i-1])] = true
		}
	}
	if len(steps) == 1 && (steps[0] || steps[1] || steps[-1]) {
		return hint(fault.Invalid("the PIN is the first anybody would try"))
	}
	return nil
}

// hashPIN returns the hash of a PIN in the form of the password hashing
// competition: $argon2id$v=19$m=…,t=…,p=…$salt$hash.
func hashPIN(pin string, random io.Reader) (string, error) {
	salt := make([]byte, pinSalt)
	if _, err := io.ReadFull(random, salt); err != nil {
		return "", fault.Internal(err, "no salt for the PIN")
	}
	return printPIN(salt, argon2.IDKey([]byte(pin), salt, pinPasses, pinMemory, 1, pinHash)), nil
}

func printPIN(salt, hash []byte) string {
	b64 := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=1$%s$%s", argon2.Version, pinMemory, pinPasses, b64(salt), b64(hash))
}

// samePIN reports whether a PIN has the hash. A hash that cannot be read costs as
// much and is never the same: who is not there is not told by the time it takes.
func samePIN(pin, hashed string) bool {
	salt, want := readPIN(hashed)
	ok := len(want) == pinHash
	if !ok {
		salt, want = make([]byte, pinSalt), make([]byte, pinHash)
	}
	if len(pin) > MostPIN {
		pin, ok = "", false // what is no PIN need not be hashed at its length
	}
	got := argon2.IDKey([]byte(pin), salt, pinPasses, pinMemory, 1, pinHash)
	return subtle.ConstantTimeCompare(got, want) == 1 && ok
}

// readPIN takes a hash apart; nil for one of another kind or cost.
func readPIN(hashed string) (salt, hash []byte) {
	parts := strings.Split(hashed, "$")
	if len(parts) != 6 || parts[1] != "argon2id" || parts[2] != fmt.Sprintf("v=%d", argon2.Version) ||
		parts[3] != fmt.Sprintf("m=%d,t=%d,p=1", pinMemory, pinPasses) {
		return nil, nil
	}
	salt, err := base64.RawStdEncoding.DecodeString(parts[4])
	if err != nil {
		return nil, nil
	}
	if hash, err = base64.RawStdEncoding.DecodeString(parts[5]); err != nil {
		return nil, nil
	}
	return salt, hash
}
