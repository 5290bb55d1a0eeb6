package sensors_test

import (
	"encoding/csv"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// Four motes, indoors and out, one reading every five seconds, of which the
// data's source labels two stretches: steam from a kettle (Suthaharan et al.,
// UNC Greensboro). The rest is measured noise: nothing in it may be in doubt.
// The steam is true heat, as sudden as any chip in air will see.
func TestMotes(t *testing.T) {
	f, err := os.Open(filepath.Join("../../shared/data", "motes_5s.csv"))
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("the measured data is not beside this checkout")
	}
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	streams := map[string]*sensors.Stream{}
	p := sensors.Probe{Interval: 5 * time.Second, Resolution: 0.01}
	calm, doubted, steam, held := 0, 0, 0, 0
	since := map[string]int{}
	for _, row := range rows[1:] {
		n, _ := strconv.Atoi(row[0])
		c, err := strconv.ParseFloat(row[4], 64)
		if err != nil {
			t.Fatal(err)
		}
		mote := row[1]
		if streams[mote] == nil {
			streams[mote] = &sensors.Stream{}
			since[mote] = 1000
		}
		q, fault := streams[mote].Judge(p, celsius(noon.Add(time.Duration(n)*p.Interval), c))
		if fault != nil {
			t.Fatal(fault)
		}
		since[mote]++
		if row[5] == "1" {
			since[mote] = 0
		}
		switch {
		case row[5] == "1":
			steam++
			if q == incubation.Spiked {
				held++
			}
		case since[mote] > 60: // five minutes after the steam it is the room again
			calm++
			if q.Doubtful() {
				doubted++
				t.Errorf("mote %s, reading %d: %g °C is %s", mote, n, c, q)
			}
		}
	}
	t.Logf("%d of %d calm readings in doubt; %d of %d in steam held back", doubted, calm, held, steam)
	if calm < 18000 || steam != 158 {
		t.Errorf("%d calm readings and %d in steam were there", calm, steam)
	}
}
