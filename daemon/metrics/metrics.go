// Package metrics offers the newest snapshot to Prometheus.
//
// It keeps nothing between scrapes and never waits for a sensor, disk or
// lock: each scrape reads the snapshot as it stands. What is not known is
// absent, a stale probe's value above all: never zero, never frozen. Base
// units: °C, ratios 0 to 1, seconds, Unix time.
package metrics

import (
	"math"
	"net/http"
	"runtime"
	"runtime/debug"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// Handler serves the metrics of the snapshot and of the process. A metric that
// cannot be told leaves the others standing.
func Handler(snapshot func() *monitor.Snapshot) http.Handler {
	registry := prometheus.NewRegistry()
	registry.MustRegister(
		NewCollector(snapshot), buildInfo(),
		collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
	)
	return promhttp.HandlerFor(registry, promhttp.HandlerOpts{ErrorHandling: promhttp.ContinueOnError})
}

// A Collector reads the snapshot at each scrape.
type Collector struct {
	snapshot func() *monitor.Snapshot

	temperature, humidity, lastReading            *prometheus.Desc
	doubtful, faults, contactState                *prometheus.Desc
	alertActive, outboxPending, tickDuration      *prometheus.Desc
	lastTick, clockTrusted, storeFailing          *prometheus.Desc
	eggDevelopment, eggMaleProbability, eggLikely *prometheus.Desc
}

var _ prometheus.Collector = (*Collector)(nil)

// NewCollector makes a collector of what snapshot gives; nil is no snapshot.
func NewCollector(snapshot func() *monitor.Snapshot) *Collector {
	describe := func(name, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc("clutchd_"+name, help, labels, nil)
	}
	return &Collector{
		snapshot: snapshot,
		temperature: describe("probe_temperature_celsius",
			"Newest temperature, offset applied; absent while the probe is stale.", "probe", "place"),
		humidity: describe("probe_humidity_ratio",
			"Newest relative humidity, 0 to 1; absent while the probe is stale.", "probe", "place"),
		lastReading: describe("probe_last_reading_timestamp_seconds",
			"Time of the newest believable reading; absent if there was none.", "probe", "place"),
		doubtful: describe("probe_doubtful",
			"1 while the newest temperature is in doubt, with why; absent otherwise.",
			"probe", "place", "quality"),
		faults: describe("probe_faults_total",
			"Tries that gave no believable value, since the start.", "probe", "cause"),
		contactState: describe("contact_state",
			"1 while the mains are there, the door is open, the leak contact is wet, else 0; absent while "+
				"that is not known.", "contact", "kind", "place"),
		alertActive: describe("alert_active",
			"1 while the alert is active and not shelved; absent otherwise.", "rule", "subject", "severity"),
		outboxPending: describe("outbox_pending",
			"Notices that the destination has not confirmed.", "destination"),
		tickDuration: describe("tick_duration_seconds",
			"How long the last tick took."),
		lastTick: describe("last_tick_timestamp_seconds",
			"When the last tick finished, by the system's clock: old, and nothing is judged any more."),
		clockTrusted: describe("clock_trusted",
			"1 while the clock is believed to be right, else 0."),
		storeFailing: describe("store_failing",
			"1 while nothing can be written down, else 0."),
		eggDevelopment: describe("egg_development_ratio",
			"Development of a live egg, 0 laid to 1 hatching, the middle of the estimate.", "egg", "clutch"),
		eggMaleProbability: describe("egg_male_probability",
			"Chance that a live egg gives a male, the middle of the estimate.", "egg", "clutch"),
		eggLikely: describe("egg_hatch_likely_timestamp_seconds",
			"Likeliest hatch of a live egg; absent when none is in sight.", "egg", "clutch"),
	}
}

// Describe names the metrics.
func (c *Collector) Describe(ch chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{
		c.temperature, c.humidity, c.lastReading, c.doubtful, c.faults, c.contactState, c.alertActive,
		c.outboxPending, c.tickDuration, c.lastTick, c.clockTrusted, c.storeFailing,
		c.eggDevelopment, c.eggMaleProbability, c.eggLikely,
	} {
		ch <- d
	}
}

// Collect tells the snapshot.
func (c *Collector) Collect(ch chan<- prometheus.Metric) {
	s := c.snapshot()
	if s == nil || s.Tick == 0 {
		return
	}
	t := teller{ch: ch, told: map[string]bool{}}
	for _, p := range s.Probes {
		c.probe(t, p)
	}
	for _, a := range s.Alerts {
		if a.Told() && !a.ShelvedUntil.After(s.Time) {
			t.gauge(c.alertActive, 1, a.Rule, subject(a.Subject), string(a.Severity))
		}
	}
	for destination, n := range s.Outbox {
		t.gauge(c.outboxPending, float64(n), destination)
	}
	for _, n := range s.Contacts {
		if n.Sure() {
			t.gauge(c.contactState, truth(n.On), n.ID, string(n.Kind), n.Place)
		}
	}
	t.gauge(c.tickDuration, s.Took.Seconds())
	t.gauge(c.clockTrusted, truth(s.Trusted))
	t.gauge(c.storeFailing, truth(s.StoreFault != ""))
	if !s.Finished.IsZero() {
		t.gauge(c.lastTick, unix(s.Finished))
	}
	for _, clutch := range s.Clutches {
		for _, egg := range clutch.Eggs {
			c.egg(t, clutch.ID, egg)
		}
	}
}

func (c *Collector) probe(t teller, p monitor.ProbeNow) {
	if !p.Latest.Time.IsZero() {
		t.gauge(c.lastReading, unix(p.Latest.Time), p.ID, p.Place)
		if !p.Stale && p.Latest.Has&incubation.Temperature != 0 {
			t.gauge(c.temperature, float64(p.Latest.Celsius), p.ID, p.Place)
		}
		if q := p.Latest.Quality; !p.Stale && q.Doubtful() {
			t.gauge(c.doubtful, 1, p.ID, p.Place, q.String())
		}
		if !p.Stale && p.Latest.Has&incubation.RelativeHumidity != 0 {
			t.gauge(c.humidity, float64(p.Latest.Humidity), p.ID, p.Place)
		}
	}
	for cause, n := range p.Faults {
		t.tell(c.faults, prometheus.CounterValue, float64(n), p.ID, string(cause))
	}
}

func (c *Collector) egg(t teller, clutch string, egg monitor.EggNow) {
	live := egg.State == incubation.Incubating || egg.State == incubation.Pipped
	if egg.Estimate == nil || !live {
		return
	}
	t.gauge(c.eggDevelopment, egg.Development.Fraction, egg.ID, clutch)
	t.gauge(c.eggMaleProbability, egg.Sex.MaleProbability, egg.ID, clutch)
	if !egg.Hatch.Likely.IsZero() {
		t.gauge(c.eggLikely, unix(egg.Hatch.Likely), egg.ID, clutch)
	}
}

// subject names what an alert is about, as in an alert's id.
func subject(s alerts.Subject) string { return string(s.Kind) + "." + s.ID }

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func unix(t time.Time) float64 { return float64(t.UnixMilli()) / 1000 }

// A teller sends metrics, each once: a double would spoil the whole scrape,
// and so would a label that is not UTF-8.
type teller struct {
	ch   chan<- prometheus.Metric
	told map[string]bool
}

func (t teller) gauge(d *prometheus.Desc, value float64, labels ...string) {
	t.tell(d, prometheus.GaugeValue, value, labels...)
}

func (t teller) tell(
	d *prometheus.Desc, kind prometheus.ValueType, value float64, labels ...string,
) {
	for i := range labels {
		labels[i] = strings.ToValidUTF8(labels[i], "\uFFFD")
	}
	key := d.String() + "\x00" + strings.Join(labels, "\x00")
	if math.IsNaN(value) || math.IsInf(value, 0) || t.told[key] {
		return
	}
	t.told[key] = true
	t.ch <- prometheus.MustNewConstMetric(d, kind, value, labels...)
}

// buildInfo is 1, labelled with what runs.
func buildInfo() prometheus.Collector {
	version, revision := "unknown", "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		version = info.Main.Version
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				revision = s.Value
			}
		}
	}
	g := prometheus.NewGauge(prometheus.GaugeOpts{
		Name: "clutchd_build_info", Help: "1, labelled with the program that runs.",
		ConstLabels: prometheus.Labels{
			"version": version, "revision": revision, "goversion": runtime.Version(),
		},
	})
	g.Set(1)
	return g
}
