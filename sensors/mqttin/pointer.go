package mqttin

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// errAbsent says that a pointer led to nothing, or to null.
var errAbsent = errors.New("absent")

// splitPointer gives the unescaped reference tokens of a JSON pointer
// (RFC 6901): none for "", the whole document.
func splitPointer(pointer string) ([]string, error) {
	if pointer == "" {
		return nil, nil
	}
	if pointer[0] != '/' {
		return nil, fmt.Errorf("pointer %q: must be empty or begin with /", pointer)
	}
	tokens := strings.Split(pointer[1:], "/")
	for i, token := range tokens {
		plain, err := unescape(token)
		if err != nil {
			return nil, fmt.Errorf("pointer %q: %w", pointer, err)
		}
		tokens[i] = plain
	}
	return tokens, nil
}

// unescape turns ~1 into / and ~0 into ~; a tilde before anything else is no
// pointer.
func unescape(token string) (string, error) {
	for i := 0; i < len(token); i++ {
		if token[i] == '~' && (i+1 == len(token) || token[i+1] != '0' && token[i+1] != '1') {
			return "", errors.New("~ must be written ~0, and / inside a name ~1")
		}
	}
	return strings.NewReplacer("~1", "/", "~0", "~").Replace(token), nil
}

// lookup follows a pointer through a decoded JSON document. What is absent or
// null gives errAbsent.
func lookup(document any, pointer string) (any, error) {
	tokens, err := splitPointer(pointer)
	if err != nil {
		return nil, err
	}
	at := document
	for _, token := range tokens {
		switch node := at.(type) {
		case map[string]any:
			at = node[token]
		case []any:
			i, ok := arrayIndex(token)
			if !ok || i >= len(node) {
				return nil, errAbsent
			}
			at = node[i]
		default:
			return nil, errAbsent
		}
	}
	if at == nil {
		return nil, errAbsent
	}
	return at, nil
}

// arrayIndex accepts the digits of RFC 6901: no sign, no leading zero.
func arrayIndex(token string) (int, bool) {
	if token == "" || len(token) > 1 && token[0] == '0' {
		return 0, false
	}
	for _, c := range token {
		if c < '0' || c > '9' {
			return 0, false
		}
	}
	i, err := strconv.Atoi(token)
	return i, err == nil
}
