package web

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"golang.org/x/crypto/argon2"
)

// The cost of one try. Small enough for the smallest Pi while a whole season
// runs beside it; the figures are judgement, the hash says which it was made
// with. Memory in KiB.
const (
	hashPasses  = 3
	hashMemory  = 32 << 10
	hashThreads = 1
	hashBytes   = 32
	saltBytes   = 16
)

// shortestPassword is the fewest characters a password may have: judgement.
const shortestPassword = 8

// A secret is a parsed password hash. The zero value matches nothing.
type secret struct {
	passes, memory uint32
	threads        uint8
	salt, sum      []byte
}

// HashPassword gives what the config keeps in place of the password: argon2id
// in the PHC string form.
func HashPassword(password string) (string, error) {
	if n := len([]rune(password)); n < shortestPassword {
		return "", fmt.Errorf("the password has %d characters\ntake at least %d", n,
			shortestPassword)
	}
	if len(password) > 1024 {
		return "", errors.New("the password is longer than 1024 bytes\ntake a shorter one")
	}
	k := secret{
		passes: hashPasses, memory: hashMemory, threads: hashThreads,
		salt: make([]byte, saltBytes),
	}
	if _, err := rand.Read(k.salt); err != nil {
		return "", fmt.Errorf("make a salt: %w", err)
	}
	k.sum = k.derive(password)
	return k.String(), nil
}

func (k secret) derive(password string) []byte {
	return argon2.IDKey([]byte(password), k.salt, k.passes, k.memory, k.threads, hashBytes)
}

// matches takes as long for a wrong password as for the right one.
func (k secret) matches(password string) bool {
	if len(k.sum) == 0 || len(password) > 1024 {
		return false
	}
	return subtle.ConstantTimeCompare(k.derive(password), k.sum) == 1
}

// String is the form that parseSecret reads.
func (k secret) String() string {
	enc := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version,
		k.memory, k.passes, k.threads, enc.EncodeToString(k.salt), enc.EncodeToString(k.sum))
}

// parseSecret reads a password hash. It refuses costs that would stall or
// starve a small machine at each login.
func parseSecret(text string) (secret, error) {
	bad := func(what string) (secret, error) {
		return secret{}, fmt.Errorf("read the password hash: %s\nmake one with `clutchd password`", what)
	}
	part := strings.Split(text, "$")
	if len(part) != 6 || part[0] != "" || part[1] != "argon2id" {
		return bad("it is not an argon2id hash")
	}
	if part[2] != "v="+strconv.Itoa(argon2.Version) {
		return bad("its version is not known")
	}
	var k secret
	if !k.readCosts(part[3]) {
		return bad("its costs are not usable")
	}
	enc := base64.RawStdEncoding.Strict()
	var err1, err2 error
	k.salt, err1 = enc.DecodeString(part[4])
	k.sum, err2 = enc.DecodeString(part[5])
	if err1 != nil || err2 != nil || len(k.salt) < 8 || len(k.salt) > 64 ||
		len(k.sum) != hashBytes {
		return bad("its salt or sum is damaged")
	}
	if k.String() != text {
		return bad("it is not written in its plain form")
	}
	return k, nil
}

func (k *secret) readCosts(text string) bool {
	cost := map[string]uint64{}
	for field := range strings.SplitSeq(text, ",") {
		name, value, _ := strings.Cut(field, "=")
		n, err := strconv.ParseUint(value, 10, 32)
		if err != nil {
			return false
		}
		cost[name] = n
	}
	m, t, p := cost["m"], cost["t"], cost["p"]
	if m < 8<<10 || m > 256<<10 || t < 1 || t > 10 || p < 1 || p > 8 {
		return false
	}
	k.memory, k.passes, k.threads = uint32(m), uint32(t), uint8(p)
	return true
}
