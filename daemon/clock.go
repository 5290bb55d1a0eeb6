package daemon

import (
	"os"
	"path/filepath"
	"strings"
	"time"

	"golang.org/x/sys/unix"

	"clutchd/daemon/monitor"
)

// synchronizedFile is what systemd's time service touches once it has set the
// clock from the network.
const synchronizedFile = "/run/systemd/timesync/synchronized"

// A machineClock tells the time and whether something has set it: a Pi has no
// clock of its own and starts at some past time.
type machineClock struct {
	believe bool // the config says that the system's clock is right
	boot    string
	begun   time.Time // of the process, with a monotonic reading
}

// newMachineClock reads what identifies this boot.
func newMachineClock(believe bool) *machineClock {
	id, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	boot := strings.TrimSpace(string(id))
	if err != nil || boot == "" {
		boot = "process-" + time.Now().UTC().Format(time.RFC3339Nano)
	}
	return &machineClock{believe: believe, boot: boot, begun: time.Now()}
}

// now is the present instant.
func (c *machineClock) now() monitor.Instant {
	wall := time.Now()
	return monitor.Instant{
		Wall: wall, Trusted: c.believe || synchronized(), Boot: c.boot, Elapsed: c.elapsed(wall),
	}
}

// elapsed is the time since boot, sleep included; where the kernel does not
// tell, since the process began.
func (c *machineClock) elapsed(wall time.Time) time.Duration {
	if d := sinceBoot(); d > 0 {
		return d
	}
	return wall.Sub(c.begun)
}

func sinceBoot() time.Duration {
	var ts unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_BOOTTIME, &ts); err != nil {
		return 0
	}
	return time.Duration(ts.Nano())
}

// synchronized reports whether the kernel or the time service says that the
// clock was set from a better one: the network, or a clock chip with a battery
// that the kernel read while it booted. A machine with neither never says so:
// there the keeper's phone is asked.
func synchronized() bool {
	var tx unix.Timex
	if state, err := unix.Adjtimex(&tx); err == nil && state != unix.TIME_ERROR && tx.Status&unix.STA_UNSYNC == 0 {
		return true
	}
	if _, err := os.Stat(synchronizedFile); err == nil {
		return true
	}
	chips, _ := filepath.Glob("/sys/class/rtc/rtc*/hctosys")
	for _, chip := range chips {
		if text, err := os.ReadFile(chip); err == nil && strings.TrimSpace(string(text)) == "1" {
			return true
		}
	}
	return false
}
