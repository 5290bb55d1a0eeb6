package proof_test

import (
	"context"
	"encoding/json"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"clutchd/daemon"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/daemon/store"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
	"clutchd/sensors"
	"clutchd/sensors/i2c"
	"clutchd/sensors/simulated"
)

// A house is the room and the daemon in it, in virtual time. The model gives
// temperatures to chips, chips give bytes, and from there on everything is the
// daemon's own: package sysfs, i2c or mqttin, the bank, the monitor, the store
// on a disk. Only the far side of the outbox is missing: notices are kept here.
type house struct {
	*testing.T
	beat  time.Duration // of the daemon's tick, and of each wired probe
	air   *simulated.Room
	root  string // of the kernel's files
	board *board
	wires []*wire
	panel *panel // nil: no contacts
	disk  string // the state folder
	zone  string
	steps int

	// Of the machine.
	skew    time.Duration // what its clock is ahead
	trusted bool
	boots   int
	booted  time.Time
	idle    *disk // stands between monitor and store

	// Of the daemon; nil while it does not run.
	monitor *monitor.Monitor
	stop    func()

	post  *post
	plain *plain
	watch time.Duration // of the fault that it suffers
}

// A wire is a chip and the way to it.
type wire struct {
	spot
	id   string
	chip interface{ show(celsius, ratio float64) }
	hum  *hum
	// off, if set, is what is wrong with the chip, or with where it lies: so
	// much is added to what it is to show.
	off func(at time.Time) (kelvin, ratio float64)
	// as, if set, is the probe in whose place it lies.
	as string
}

// members is few enough for quick tests: estimates are not the point.
const members = 30

// newHouse builds the room and starts the daemon. Call it inside a synctest
// bubble, whose clock begins at midnight of 1 January 2000.
func newHouse(t *testing.T, beat time.Duration, change func(*simulated.Spec)) *house {
	t.Helper()
	h := newEmptyHouse(t, beat)
	spec := model(time.Now(), beat)
	for i, s := range spots() {
		w := h.wire(s, uint64(i))
		h.wires = append(h.wires, w)
		spec.Probes = append(spec.Probes, spoken(w.id, s))
	}
	if change != nil {
		change(&spec)
	}
	must(t, spec.Check())
	h.air = simulated.New(spec, 1, time.Now())
	h.plain = newPlain(h)
	return h
}

// newEmptyHouse is one without a room and without probes.
func newEmptyHouse(t *testing.T, beat time.Duration) *house {
	t.Helper()
	folder := t.TempDir()
	if shm, err := os.MkdirTemp("/dev/shm", "proof"); err == nil {
		folder = shm // nothing here is about a disk's speed
		t.Cleanup(func() { os.RemoveAll(shm) })
	}
	h := &house{
		T: t, beat: beat, root: filepath.Join(folder, "sys"), disk: filepath.Join(folder, "state"),
		zone: "Europe/Lisbon", trusted: true, booted: time.Now(),
		board: &board{chips: map[uint16]slave{}}, post: &post{}, idle: &disk{},
	}
	h.plain = newPlain(h)
	t.Cleanup(func() {
		if h.stop != nil {
			h.stop()
		}
	})
	return h
}

// wire solders a probe in.
func (h *house) wire(s spot, n uint64) *wire {
	w := &wire{spot: s, hum: &hum{noise: indoors(), dice: rand.New(rand.NewPCG(7, n))}}
	if s.place == room || s.place == pen {
		w.hum.noise = outdoors()
	}
	switch s.kind {
	case "w1", "w1b":
		master := map[string]string{"w1": "w1_bus_master1", "w1b": "w1_bus_master2"}[s.kind]
		d := newThermometer(h.T, h.root, master, s.name)
		w.id, w.chip = d.probe(), d
	case "sht31":
		c := &sht31{}
		addr := address(s.name)
		h.board.plug(addr, c)
		w.id, w.chip = i2c.ID("i2c-1", "sht31", addr), c
	case "bme280":
		c := newBME280()
		h.board.plug(address(s.name), c)
		w.id, w.chip = i2c.ID("i2c-1", "bme280", address(s.name)), c
	case "hwmon":
		c := newClimate(h.T, h.root, s.name, 0)
		w.id, w.chip = c.probe(), c
	case "mqtt":
		d := newDevice(s.name, time.Minute, false)
		w.id, w.chip = d.probe(), d
	case "battery":
		d := newDevice(s.name, 5*time.Minute, true)
		w.id, w.chip = d.probe(), d
	}
	return w
}

func address(name string) uint16 {
	n, err := strconv.ParseUint(name, 0, 16)
	if err != nil {
		panic(err) // a constant of layout_test.go
	}
	return uint16(n)
}

// in gives the wire of the probe in a place.
func (h *house) in(place string) *wire {
	for _, w := range h.wires {
		if w.place == place {
			return w
		}
	}
	h.Fatalf("no probe in %s", place)
	return nil
}

// w1, chip and device give the chip of a place by its kind.
func (h *house) w1(place string) *thermometer { return h.in(place).chip.(*thermometer) }
func (h *house) sht(place string) *sht31      { return h.in(place).chip.(*sht31) }
func (h *house) device(place string) *device  { return h.in(place).chip.(*device) }

// wall is the machine's clock.
func (h *house) wall() time.Time { return time.Now().UTC().Add(h.skew) }

// run starts the daemon as daemon.Run wires it: find, bank, monitor, store.
func (h *house) run() {
	h.Helper()
	log := slog.New(slog.DiscardHandler)
	ctx, cancel := context.WithCancel(context.Background())
	kept, err := store.Open(ctx, h.disk, store.Options{Log: log})
	must(h.T, err)
	bank, said := sensors.NewBank(log), sensors.NewBoard(log)
	h.idle.Store = kept
	h.monitor = monitor.New(monitor.Options{
		Site: "proof", Zone: h.zone, Store: h.idle, Sampler: &ear{bank, h}, Contacts: said, Poster: h.post,
		Ensemble: species.Ensemble(members), Log: log, Damage: kept.Damage,
	})
	must(h.T, h.monitor.Start(ctx))
	h.solder(bank)
	cfg := config.Default()
	cfg.Kernel.Root, cfg.Kernel.IntervalSeconds = h.root, h.beat.Seconds()
	m := h.monitor
	running := []func(){
		func() { _ = m.Run(ctx) },
		func() { _ = bank.Run(ctx) },
		func() { _ = daemon.Find(ctx, cfg, bank, log) },
	}
	if h.panel != nil {
		wires := h.panel.listen(h.root, said)
		running = append(running, func() { _ = wires.Run(ctx, said.Push) })
	}
	done := make(chan struct{}, len(running))
	for _, f := range running {
		go func() { f(); done <- struct{}{} }()
	}
	m.Tick(ctx, h.instant()) // as the daemon does, before anything is read
	h.stop = func() {
		h.board.trouble(nil, nil) // a call that hangs would be waited for
		cancel()
		for range running {
			<-done
		}
		must(h.T, kept.Close())
		for _, w := range h.wires {
			if d, ok := w.chip.(*device); ok {
				d.push = nil
			}
		}
		h.monitor, h.stop = nil, nil
	}
}

// solder gives the bank what no search finds: the I2C chips and the devices.
func (h *house) solder(bank *sensors.Bank) {
	for _, w := range h.wires {
		switch w.kind {
		case "sht31", "bme280":
			s, err := i2c.Open(h.board, w.kind, address(w.name))
			must(h.T, err)
			bank.Add("i2c-1", paced{s, h.beat})
		case "mqtt", "battery":
			d := w.chip.(*device)
			p := d.Probe()
			p.Through = "broker house" // as the daemon's wiring names it
			bank.Announce(p)
			d.push, d.now = bank.Push, h.wall
			if d.kept != "" {
				d.replay()
			}
		}
	}
}

// paced is a sensor that is read on the house's beat.
type paced struct {
	sensors.Sensor
	every time.Duration
}

func (p paced) Probe() sensors.Probe {
	d := p.Sensor.Probe()
	d.Interval = p.every
	return d
}

// An ear is what the monitor samples: the bank, on this machine's clock.
type ear struct {
	bank *sensors.Bank
	h    *house
}

func (e *ear) Probes() []sensors.Probe { return e.bank.Probes() }

// Sample moves what was stamped by the bubble's clock to the machine's; what
// devices say bears that already. A real clock that is set keeps the monotonic
// part, which is why an age stays true: this is the same.
func (e *ear) Sample(ctx context.Context, now time.Time) []sensors.Outcome {
	out := e.bank.Sample(ctx, now)
	for i := range out {
		if w := e.h.byID(out[i].Probe); w == nil || w.kind != "mqtt" && w.kind != "battery" {
			out[i].Time = out[i].Time.Add(e.h.skew)
		}
		e.h.plain.hear(out[i])
	}
	return out
}

func (h *house) byID(id string) *wire {
	for _, w := range h.wires {
		if w.id == id {
			return w
		}
	}
	return nil
}

// step lives one beat: the model, then the bytes, then the daemon's reading
// and, half a beat on, its tick.
func (h *house) step() {
	now := time.Now().UTC()
	felt := map[string]incubation.Reading{}
	for _, o := range h.air.Sample(context.Background(), now) {
		felt[o.Probe] = o.Reading
	}
	for _, w := range h.wires {
		id := w.id
		if w.as != "" {
			id = w.as
		}
		r, ok := felt[id]
		kelvin, ratio := w.hum.next(h.beat), 0.0
		if w.off != nil {
			k, more := w.off(now)
			kelvin, ratio = kelvin+k, more
		}
		if ok {
			w.chip.show(float64(r.Celsius)+kelvin, min(1, max(0, float64(r.Humidity)+ratio)))
		}
		if d, ok := w.chip.(*device); ok {
			d.speak(now)
		}
	}
	time.Sleep(h.beat / 2)
	if h.monitor != nil {
		h.plain.tick()
		h.monitor.Tick(context.Background(), h.instant())
	}
	h.steps++
	time.Sleep(h.beat / 2)
}

func (h *house) instant() monitor.Instant {
	return monitor.Instant{
		Wall: time.Now().Add(h.skew), Trusted: h.trusted, Boot: "boot-" + strconv.Itoa(h.boots),
		Elapsed: time.Since(h.booted),
	}
}

// live lets time pass.
func (h *house) live(d time.Duration) {
	h.Helper()
	for end := time.Now().Add(d); time.Now().Before(end); {
		h.step()
	}
}

// start runs the daemon a quarter of a beat off, so that it reads between the
// bytes and the tick.
func (h *house) start() {
	h.Helper()
	for range 2 { // the model's first values are those of its first beat's end
		h.step()
	}
	time.Sleep(h.beat / 4)
	h.run()
	time.Sleep(h.beat - h.beat/4)
	h.step()
}

// reboot has the machine without power for d: the daemon stops, the model
// goes on.
func (h *house) reboot(d time.Duration) {
	h.Helper()
	h.stop()
	h.live(d)
	h.boots++
	h.booted = time.Now()
	h.start()
}

// restart restarts the daemon alone, as an upgrade does.
func (h *house) restart() {
	h.Helper()
	h.stop()
	h.start()
}

func (h *house) enter(kind book.Kind, data any) {
	h.Helper()
	h.enterAt(time.Time{}, kind, data)
}

func (h *house) enterAt(at time.Time, kind book.Kind, data any) {
	h.Helper()
	text, err := json.Marshal(data)
	must(h.T, err)
	_, err = h.monitor.Do(context.Background(), monitor.Change{Entry: &book.Entry{At: at, Kind: kind, Data: text}})
	if err != nil {
		h.Fatalf("enter %s %s: %v", kind, text, err)
	}
}

// inject has something go wrong in the model from now on, for d; zero: for good.
func (h *house) inject(kind simulated.FaultKind, subject string, size float64, d time.Duration) {
	f := simulated.Fault{Kind: kind, Subject: subject, From: time.Now().UTC(), Size: size}
	if d > 0 {
		f.To = f.From.Add(d)
	}
	h.air.Inject(f)
}
