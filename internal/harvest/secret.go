package harvest

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
)

// newToken returns 256 random bits as text for a link or header.
func newToken() string {
	b := make([]byte, 32)
	rand.Read(b) //nolint:errcheck // never fails
	return base64.RawURLEncoding.EncodeToString(b)
}

// hashToken is what the log keeps of a token. A plain hash is enough for 256 random bits.
func hashToken(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// newPhotoID returns 130 random bits in 26 lower-case letters and digits.
func newPhotoID() string {
	b := make([]byte, 17)
	rand.Read(b) //nolint:errcheck // never fails
	return strings.ToLower(base32.StdEncoding.EncodeToString(b))[:26]
}

// argon holds the costs of argon2id.
type argon struct {
	time, memoryKiB uint32
	lanes           uint8
}

// passwordCost is the second recommended choice of RFC 9106, section 4: 3 passes over 64 MiB in 4 lanes.
var passwordCost = argon{time: 3, memoryKiB: 64 << 10, lanes: 4}

// hashPassword returns the password's hash with salt and costs in the usual text form.
func (l *Log) hashPassword(password string) string {
	salt := make([]byte, 16)
	rand.Read(salt) //nolint:errcheck // never fails
	c := passwordCost
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, c.memoryKiB, c.time, c.lanes,
		base64.RawStdEncoding.EncodeToString(salt), base64.RawStdEncoding.EncodeToString(l.argon2id(password, salt, c)))
}

// argon2id computes the key, two at a time at most: each takes its memory.
func (l *Log) argon2id(password string, salt []byte, c argon) []byte {
	l.hashing <- struct{}{}
	defer func() { <-l.hashing }()
	return argon2.IDKey([]byte(password), salt, c.time, c.memoryKiB, c.lanes, 32)
}

// passwordFits compares in constant time.
func (l *Log) passwordFits(password, hash string) bool {
	var version int
	var c argon
	part := strings.Split(hash, "$")
	if len(part) != 6 || part[1] != "argon2id" {
		return false
	}
	if _, err := fmt.Sscanf(part[2], "v=%d", &version); err != nil || version != argon2.Version {
		return false
	}
	if _, err := fmt.Sscanf(part[3], "m=%d,t=%d,p=%d", &c.memoryKiB, &c.time, &c.lanes); err != nil {
		return false
	}
	salt, err := base64.RawStdEncoding.DecodeString(part[4])
	if err != nil {
		return false
	}
	want, err := base64.RawStdEncoding.DecodeString(part[5])
	if err != nil {
		return false
	}
	return subtle.ConstantTimeCompare(l.argon2id(password, salt, c), want) == 1
}

// wastePassword takes the time of a comparison, so that an unknown name answers no sooner than a known one.
func (l *Log) wastePassword(password string) {
	l.argon2id(password, make([]byte, 16), passwordCost)
}
