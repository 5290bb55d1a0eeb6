package daemon_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// piInit is the first program in the guest: it loads the drivers, brings up
// the network and then does what the test says, a line at a time, over the
// second serial port: the board's Bluetooth holds the receiving side of the
// first, which only the kernel's messages leave by. The port is raw: the
// kernel's line editing would echo a command, and cut a long one.
const piInit = `#!/busybox sh
/busybox mkdir -p /bin /dev /proc /run /sys /tmp
/busybox --install -s /bin
export PATH=/bin
mount -t proc none /proc; mount -t sysfs none /sys; mount -t devtmpfs none /dev
hostname pi
exec </dev/ttyS1 >/dev/ttyS1 2>&1
stty raw -echo
for m in /modules/*; do insmod $m || echo "insmod $m: no"; done
ip link set lo up
n=0
until ip link set eth0 up 2>/dev/null || [ $n = 300 ]; do n=$((n+1)); usleep 100000; done
ip addr add 10.0.2.15/24 dev eth0
printf '\nSTATUS %s\n' $?
while read -r line; do eval "$line"; printf '\nSTATUS %s\n' $?; done
`

// piDrivers are those of the I2C bus and of the network.
var piDrivers = []string{"i2c-dev", "i2c-bcm2835", "lm75", "phy-generic", "dwc2", "cdc_ether"}

// How long to wait for the emulated machine (judgement): it boots in ten
// seconds, but may share its cores with other tests.
const (
	piBoots   = 2 * time.Minute
	piAnswers = time.Minute
)

// A pi is an emulated Raspberry Pi 3B with a thermometer, a tmp105 at 0x48
// of its I2C bus 1, and this machine at 10.0.2.2. It has no clock of its
// own.
type pi struct {
	t     *testing.T
	in    io.Writer
	lines chan string // of its serial line
	qmp   *json.Encoder
	told  *json.Decoder

	mu   sync.Mutex
	said []string // all that it said, for a failure
}

// bootPi starts a Pi from the initramfs and returns when it takes commands.
func bootPi(t *testing.T, k piKit, initramfs string) *pi {
	t.Helper()
	socket, kernel := filepath.Join(t.TempDir(), "qmp"), filepath.Join(t.TempDir(), "kernel")
	p := &pi{t: t, lines: make(chan string, 1024)}
	p.run(k.qemu("-M", "raspi3b", "-dtb", k.path("linux", "board.dtb"),
		"-kernel", k.path("linux", "vmlinuz"), "-initrd", initramfs,
		"-append", "console=ttyAMA0,115200 quiet loglevel=1 panic=-1",
		"-device", "tmp105,bus=i2c-bus.1,address=0x48,id=thermometer",
		"-netdev", "user,id=net", "-device", "usb-net,netdev=net",
		"-qmp", "unix:"+socket+",server=on,wait=off", "-monitor", "none", "-display", "none",
		"-serial", "file:"+kernel, "-serial", "stdio", "-no-reboot"))
	t.Cleanup(func() {
		if t.Failed() {
			messages, _ := os.ReadFile(kernel)
			t.Logf("the kernel said:\n%s\nthe Pi said:\n%s", messages, p.ending())
		}
	})
	said, status := p.answer("boot", piBoots)
	if status != 0 || strings.Contains(said, "insmod") {
		t.Fatalf("the Pi booted with troubles:\n%s", said)
	}
	p.connect(socket)
	return p
}

// run starts QEMU, until the test ends.
func (p *pi) run(qemu *exec.Cmd) {
	p.t.Helper()
	in, err := qemu.StdinPipe()
	if err != nil {
		p.t.Fatal(err)
	}
	p.in = in
	out, err := qemu.StdoutPipe()
	if err != nil {
		p.t.Fatal(err)
	}
	if err := qemu.Start(); err != nil {
		p.t.Fatal(err)
	}
	heard := make(chan struct{})
	go func() {
		defer close(heard)
		p.listen(out)
	}()
	p.t.Cleanup(func() {
		_ = qemu.Process.Kill()
		<-heard
		_ = qemu.Wait()
	})
}

func (p *pi) listen(out io.Reader) {
	defer close(p.lines)
	for lines := bufio.NewScanner(out); lines.Scan(); {
		line := strings.TrimRight(lines.Text(), "\r")
		p.mu.Lock()
		p.said = append(p.said, line)
		p.mu.Unlock()
		p.lines <- line
	}
}

// ending is the end of what the Pi said.
func (p *pi) ending() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return strings.Join(p.said[max(0, len(p.said)-60):], "\n")
}

// sh runs a shell command in the guest and gives what it says.
func (p *pi) sh(format string, args ...any) string {
	p.t.Helper()
	said, status := p.try(fmt.Sprintf(format, args...))
	if status != 0 {
		p.t.Fatalf("in the Pi: %s: status %d\n%s", fmt.Sprintf(format, args...), status, said)
	}
	return said
}

// try is sh for a command that may fail.
func (p *pi) try(command string) (said string, status int) {
	p.t.Helper()
	if _, err := io.WriteString(p.in, command+"\n"); err != nil {
		p.t.Fatal(err)
	}
	return p.answer(command, piAnswers)
}

// answer waits for the end of a command.
func (p *pi) answer(command string, patience time.Duration) (said string, status int) {
	p.t.Helper()
	late := time.NewTimer(patience)
	defer late.Stop()
	var lines []string
	for {
		select {
		case line, ok := <-p.lines:
			if !ok {
				p.t.Fatalf("in the Pi: %s: QEMU ended", command)
			}
			if _, err := fmt.Sscanf(line, "STATUS %d", &status); err == nil {
				return strings.Join(lines, "\n"), status
			}
			if line != "" {
				lines = append(lines, line)
			}
		case <-late.C:
			p.t.Fatalf("in the Pi: %s: no answer within %s", command, patience)
		}
	}
}

// connect opens QEMU's own control socket.
func (p *pi) connect(socket string) {
	p.t.Helper()
	conn, err := net.Dial("unix", socket)
	if err != nil {
		p.t.Fatal(err)
	}
	p.t.Cleanup(func() { conn.Close() })
	p.qmp, p.told = json.NewEncoder(conn), json.NewDecoder(conn)
	p.order("qmp_capabilities", nil)
}

// warm sets what the thermometer feels. A sixteenth of a degree is its step.
func (p *pi) warm(celsius float64) {
	p.t.Helper()
	p.order("qom-set", map[string]any{
		"path":     "/machine/peripheral/thermometer",
		"property": "temperature", "value": int(celsius * 1000),
	})
}

func (p *pi) order(execute string, arguments map[string]any) {
	p.t.Helper()
	order := map[string]any{"execute": execute}
	if arguments != nil {
		order["arguments"] = arguments
	}
	if err := p.qmp.Encode(order); err != nil {
		p.t.Fatal(err)
	}
	for {
		var reply struct {
			Return *json.RawMessage `json:"return"`
			Error  *struct {
				Desc string `json:"desc"`
			} `json:"error"`
		}
		switch err := p.told.Decode(&reply); {
		case err != nil:
			p.t.Fatalf("QEMU: %s: %v", execute, err)
		case reply.Error != nil:
			p.t.Fatalf("QEMU: %s: %s", execute, reply.Error.Desc)
		case reply.Return != nil:
			return
		}
	}
}
