package daemon_test

import (
	"fmt"
	"testing"
	"time"
)

// What the room is told to do, and when. The tick comes every ten seconds.
const (
	piInterval = 2 * time.Second // of the probe
	piTick     = 10 * time.Second
	// piSlack is how far the guest's clock and its readings' times may be
	// from this machine's: it is set to a whole second, over a line that
	// takes a moment, and a settled time is up to two seconds early.
	piSlack = 4 * time.Second
	// acuteOn and acuteOff are the delays of acute heat, on the rules' page.
	acuteOn, acuteOff = time.Minute, time.Minute
)

// The temperatures the thermometer feels, each a whole number of its steps.
const (
	piFirst, piSecond = 27.5, 28.5
	piDeadly          = 39.0
)

// TestEmulatedPi has the program, as it is installed, watch a box of eggs on
// a whole Raspberry Pi with a thermometer on its I2C bus: from a start in
// 1970 to a stop, through a fever during which the broker is away. The bus
// is read by the program itself in one run and by the kernel's driver in the
// other.
//
// Unlike in our other tests time is real here: QEMU, the kernel and the
// broker know no virtual one. Every wait is for an event, and has an end.
func TestEmulatedPi(t *testing.T) {
	if testing.Short() {
		t.Skip("minutes of real time")
	}
	t.Parallel()
	kit := newPiKit(t)
	mosquitto(t, "mosquitto")
	program := buildForPi(t)
	for _, run := range []piRun{{
		name: "own driver", probe: "i2c-1-48-tmp105",
		config: fmt.Sprintf("[kernel]\noff = true\n[[i2c]]\nbus = \"1\"\n[[i2c.chip]]\n"+
			"model = \"tmp105\"\naddress = 0x48\ninterval_seconds = %v\n", piInterval.Seconds()),
	}, {
		name: "kernel's driver", probe: "hwmon-tmp105-1-0048",
		plug:   "echo tmp105 0x48 > /sys/bus/i2c/devices/i2c-1/new_device",
		config: fmt.Sprintf("[kernel]\ninterval_seconds = %v\n", piInterval.Seconds()),
	}} {
		t.Run(run.name, func(t *testing.T) {
			t.Parallel()
			run.live(t, kit, program)
		})
	}
}

// A piRun is one way to read the thermometer.
type piRun struct {
	name, probe string
	plug        string // shell command that makes it readable
	config      string
}

// live is the whole story.
func (run piRun) live(t *testing.T, kit piKit, program string) {
	r := &piRoom{piRun: run, t: t, began: time.Now(), house: newHub(t)}
	r.ear = r.house.listen("clutchd/pi/#")
	r.pi = bootPi(t, kit, r.initramfs(kit, program))
	t.Cleanup(func() {
		if t.Failed() {
			log, _ := r.pi.try("cat /run/clutchd.log")
			t.Logf("the program said:\n%s", log)
		}
	})
	r.log("booted; the Pi believes it is %s", r.pi.sh("date -u +%%FT%%TZ"))
	dark := r.startInTheDark()
	r.setClock()
	r.checkHistory(dark)
	r.enterTheRoom()
	fever := r.feverWhileTheBrokerIsAway()
	r.acknowledgeAndCool(fever)
	r.checkEggs()
	r.stop()
}
