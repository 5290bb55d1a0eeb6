package mqtt_test

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/monitor"
	"clutchd/daemon/mqtt"
	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/mqttin"
)

// collected gathers what a callback was given.
type collected[T any] struct {
	mu  sync.Mutex
	all []T
}

func (c *collected[T]) add(v T) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.all = append(c.all, v)
}

func (c *collected[T]) take() []T {
	synctest.Wait()
	c.mu.Lock()
	defer c.mu.Unlock()
	all := c.all
	c.all = nil
	return all
}

func TestHearsDevices(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		h.publish("room/shelf", `{"a":20,"b":21}`, true) // an old one, kept by the broker
		var got collected[sensors.Outcome]
		device := func(id, pointer string) mqttin.Device {
			return mqttin.Device{ProbeID: id, Topic: "room/shelf", Pointer: pointer, Interval: time.Minute}
		}
		h.connect(mqtt.Options{
			Devices: []mqttin.Device{device("a", "/a"), device("b", "/b")}, OnOutcome: got.add,
		})
		if old := got.take(); len(old) > 0 {
			t.Errorf("a retained message counted as fresh: %v", old)
		}
		time.Sleep(time.Minute)
		now := time.Now().UTC()
		h.publish("room/shelf", `{"a":28.4,"b":null}`, false)
		h.publish("room/other", `30`, false)
		outcomes := got.take()
		if len(outcomes) != 2 {
			t.Fatalf("got %v, want one outcome for each probe of the topic", outcomes)
		}
		want := sensors.Outcome{Probe: "a", Time: now, Reading: incubation.Reading{
			Probe: "a", Time: now, Has: incubation.Temperature, Celsius: 28.4,
		}}
		if diff := cmp.Diff(want, outcomes[0]); diff != "" {
			t.Errorf("probe a (-want +got):\n%s", diff)
		}
		if f := outcomes[1].Fault; f == nil || f.Probe != "b" || f.Cause != sensors.Unparsable {
			t.Errorf("probe b: got %v, want an unparsable fault", outcomes[1])
		}
	})
}

func TestTakesCommands(t *testing.T) {
	const topic = "clutchd/cellar/command/alert/too-warm.place.box-3"
	acknowledged := monitor.Change{Acknowledge: &monitor.Acknowledge{
		Alert: "too-warm.place.box-3", Occurrence: "o-17", By: "Ada",
	}}
	const sound = `{"do":"acknowledge","occurrence":"o-17","by":"Ada"}`
	tests := []struct {
		sentence, topic, payload string
		retain                   bool // kept by the broker from before
		want                     []monitor.Change
	}{
		{
			sentence: "a command reaches the door", topic: topic, payload: sound,
			want: []monitor.Change{acknowledged},
		},
		{sentence: "a retained command is from another time", topic: topic, payload: sound, retain: true},
		{sentence: "a malformed command does nothing", topic: topic, payload: `{"do":`},
		{sentence: "an empty command does nothing", topic: topic, payload: ``},
		{
			sentence: "a command about nothing does nothing",
			topic:    "clutchd/cellar/command/alert/", payload: sound,
		},
		{
			sentence: "another site's command is not ours", topic: "clutchd/attic/command/alert/x",
			payload: sound,
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := newHub(t)
				var got collected[monitor.Change]
				if tt.retain {
					h.publish(tt.topic, tt.payload, true)
				}
				h.connect(mqtt.Options{OnCommand: func(c monitor.Change) error {
					got.add(c)
					return errors.New("refused, which is only logged")
				}})
				if !tt.retain {
					h.publish(tt.topic, tt.payload, false)
				}
				if diff := cmp.Diff(tt.want, got.take()); diff != "" {
					t.Errorf("changes (-want +got):\n%s", diff)
				}
				h.publish(topic, sound, false)
				if diff := cmp.Diff([]monitor.Change{acknowledged}, got.take()); diff != "" {
					t.Errorf("a sound command afterwards (-want +got):\n%s", diff)
				}
			})
		})
	}
}

// A flood on a device's topic, and a door that stands still, must hold up
// neither notices nor the stop.
func TestFloodHoldsUpNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		door := make(chan struct{})
		c, stop := h.connect(mqtt.Options{
			Devices:   []mqttin.Device{{ProbeID: "a", Topic: "room/shelf", Interval: time.Minute}},
			OnOutcome: func(sensors.Outcome) { <-door },
			OnCommand: func(monitor.Change) error { <-door; return nil },
		})
		for i := range 2000 {
			h.publish("room/shelf", fmt.Sprint(20+i%10), false)
		}
		if err := c.Publish(t.Context(), notice(1)); err != nil {
			t.Errorf("publish during a flood: %v", err)
		}
		close(door)
		stop()
	})
}

// A packet beyond every reason breaks the connection that listens, not the
// one that speaks.
func TestHugePacket(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		var got collected[sensors.Outcome]
		c, _ := h.connect(mqtt.Options{
			Devices:   []mqttin.Device{{ProbeID: "a", Topic: "room/shelf", Interval: time.Minute}},
			OnOutcome: got.add,
		})
		h.publish("room/shelf", string(make([]byte, 300<<10)), false)
		if err := c.Publish(t.Context(), notice(1)); err != nil {
			t.Errorf("publish: %v", err)
		}
		if all := got.take(); len(all) > 0 {
			t.Errorf("a huge packet gave %v", all)
		}
		time.Sleep(5 * time.Second)
		h.publish("room/shelf", "28.4", false)
		if all := got.take(); len(all) != 1 || all[0].Fault != nil {
			t.Errorf("after a reconnect: got %v, want a reading", all)
		}
	})
}

// What thousands of devices say while the machine is busy with something else
// waits, all of it.
func TestHearsThousandsAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		const devices = 3000
		heard, free := map[string]bool{}, make(chan struct{})
		o := mqtt.Options{OnOutcome: func(out sensors.Outcome) {
			<-free
			heard[out.Probe] = true
		}}
		for i := range devices {
			id := fmt.Sprintf("p%d", i)
			o.Devices = append(o.Devices, mqttin.Device{ProbeID: id, Topic: "shed/" + id, Pointer: "/t", Interval: time.Minute})
		}
		h.connect(o)
		for i := range devices {
			h.publish(fmt.Sprintf("shed/p%d", i), `{"t":28.4}`, false)
		}
		close(free)
		synctest.Wait()
		if len(heard) != devices {
			t.Errorf("of %d devices %d were heard", devices, len(heard))
		}
	})
}
