package store

import (
	"fmt"
	"strings"
)

// A yearChecker looks at a year's values. A row or a name that does not fit
// its checksum condemns the file, for it would be lost unseen; so does a
// block out of place, and a probe none of whose blocks fit, which is more
// likely another's under a damaged name. A block in its place is only told:
// Range stumbles over it there.
type yearChecker struct {
	name   string
	tell   func(format string, args ...any)
	fit    map[string]bool // probes that have a block that fits
	broken []brokenBlock
}

type brokenBlock struct {
	probe string
	base  int64
}

func (c *yearChecker) value(bucket string, key, value []byte) error {
	_, err := unseal(bucket, key, value)
	probe, block := strings.CutPrefix(bucket, blocksBucket+"/")
	switch {
	case bucket == damagedBucket:
		return nil
	case err == nil:
		c.fit[probe] = c.fit[probe] || block
		return nil
	case block && len(key) == 8 && blockBase(key)%windowSeconds == 0:
		c.broken = append(c.broken, brokenBlock{probe, blockBase(key)})
		return nil
	}
	return fmt.Errorf("%s %x: %w", bucket, key, err)
}

func (c *yearChecker) done() error {
	for _, b := range c.broken {
		if !c.fit[b.probe] {
			return fmt.Errorf("%s: %w", blockName(b.probe, b.base), errSeal)
		}
		c.tell("%s: %s cannot be read.", c.name, blockName(b.probe, b.base))
	}
	return nil
}
