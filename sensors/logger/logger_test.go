package logger_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"clutchd/incubation"
	"clutchd/sensors/logger"

	"github.com/google/go-cmp/cmp"
)

// said renders readings: "2026-03-01T08:00:00Z 28.5", with humidity if held.
func said(all []incubation.Reading) []string {
	var lines []string
	for _, r := range all {
		s := fmt.Sprintf("%s %.4g", r.Time.Format(time.RFC3339Nano), r.Celsius)
		if r.Has&incubation.RelativeHumidity != 0 {
			s += fmt.Sprintf(" %.4g", r.Humidity)
		}
		if r.Quality != incubation.Good {
			s += " " + r.Quality.String()
		}
		lines = append(lines, s)
	}
	return lines
}

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Skipf("install tzdata: %v", err)
	}
	return z
}

func TestReadForms(t *testing.T) {
	one := []string{"2026-03-01T08:00:00Z 28.5"}
	tests := []struct {
		why, file string
		options   logger.Options
		want      []string
	}{
		{"the plainest form", "time,celsius\n2026-03-01T08:00:00Z,28.5\n", logger.Options{}, one},
		{
			"no line end at the end, CRLF, BOM", "\ufefftime,celsius\r\n2026-03-01T08:00:00Z,28.5",
			logger.Options{},
			one,
		},
		{
			"columns in any order",
			"note,Temperature (°C),serial,Timestamp\nx,28.5,7,2026-03-01 08:00:00\n",
			logger.Options{},
			one,
		},
		{
			"semicolons and decimal commas", "Date;Time;Temp °C\n2026-03-01;08:00;28,5\n",
			logger.Options{},
			one,
		},
		{"tabs", "datetime\ttemp_c\n2026/03/01 08:00\t28.5\n", logger.Options{}, one},
		{
			"quoted fields with separators in them",
			"\"#\",\"Date Time, GMT+01:00\",\"Temp, °C (say \"\"c\"\")\"\n" +
				"1,\"2026-03-01, 09:00\",\"28,5\"\n",
			logger.Options{},
			one,
		},
		{
			"lines before the header",
			"Serial number 12\nsep=,\n\ntime,temperature\n2026-03-01 08:00,28.5\n",
			logger.Options{},
			one,
		},
		{"no header", "2026-03-01 08:00:00,28.5\n", logger.Options{}, one},
		{
			"no header, date and time apart",
			"01.03.2026;08:00;28,5\n13.03.2026;08:00;28,5\n",
			logger.Options{},
			[]string{one[0], "2026-03-13T08:00:00Z 28.5"},
		},
		{
			"an offset in the time",
			"time,celsius\n2026-03-01T10:00:00+02:00,28.5\n",
			logger.Options{},
			one,
		},
		{
			"an offset without a colon, lower t", "time,celsius\n2026-03-01t03:30:00-0430,28.5\n",
			logger.Options{},
			one,
		},
		{"unix seconds", "epoch,celsius\n1772352000,28.5\n", logger.Options{}, one},
		{"unix milliseconds", "timestamp_ms,celsius\n1772352000000,28.5\n", logger.Options{}, one},
		{
			"am and pm",
			"date,time,celsius\n2026-03-01,8:00:00 AM,28.5\n" +
				"2026-03-01,12:30 p.m.,29\n2026-03-02,12:00 am,30\n",
			logger.Options{},
			[]string{one[0], "2026-03-01T12:30:00Z 29", "2026-03-02T00:00:00Z 30"},
		},
		{"a month by name", "time,celsius\n1-Mar-26 08:00,28.5\n", logger.Options{}, one},
		{
			"fractions of a second", "time,celsius\n2026-03-01 08:00:00.25,28.5\n",
			logger.Options{},
			[]string{"2026-03-01T08:00:00.25Z 28.5"},
		},
		{
			"humidity in percent", "time,celsius,RH (%)\n2026-03-01 08:00,28.5,81.3\n",
			logger.Options{},
			[]string{"2026-03-01T08:00:00Z 28.5 0.813"},
		},
		{
			"humidity as a ratio, saturated",
			"time,celsius,humidity_ratio\n2026-03-01 08:00,28.5,1.02\n",
			logger.Options{},
			[]string{"2026-03-01T08:00:00Z 28.5 1 saturated"},
		},
		{
			"humidity's unit by what is plausible",
			"time,celsius,humidity\n2026-03-01 08:00,28.5,81.3\n",
			logger.Options{},
			[]string{"2026-03-01T08:00:00Z 28.5 0.813"},
		},
		{"°F by the header", "time,Temp (°F)\n2026-03-01 08:00,83.3\n", logger.Options{}, one},
		{"°F in Latin-1", "time,Temp (\xb0F)\n2026-03-01 08:00,83.3\n", logger.Options{}, one},
		{
			"°F by the options, where the median is not warm", "time,value\n2026-03-01 08:00,32\n",
			logger.Options{Unit: "F"},
			[]string{"2026-03-01T08:00:00Z 0"},
		},
		{
			"°F because nothing else is plausible", "time,value\n2026-03-01 08:00,83.3\n",
			logger.Options{},
			one,
		},
		{"of °C and °F, °C", "time,°F,°C\n2026-03-01 08:00,83.3,28.5\n", logger.Options{}, one},
		{
			"of °C and °F, the one asked for",
			"time,°F,°C\n2026-03-01 08:00,83.3,99\n",
			logger.Options{Unit: "F"},
			one,
		},
		{
			"dew point is no temperature", "time,Dew point (°C),Celsius\n2026-03-01 08:00,25,28.5\n",
			logger.Options{},
			one,
		},
		{
			"minutes from a start", "nest,minute,temp_c\nn1,15,28.5\n",
			logger.Options{Start: time.Date(2026, 3, 1, 7, 45, 0, 0, time.UTC)},
			one,
		},
		{
			"hours from a start", "elapsed (h),celsius\n0.5,28.5\n",
			logger.Options{Start: time.Date(2026, 3, 1, 7, 30, 0, 0, time.UTC)},
			one,
		},
		{
			"a zone of the options", "time,celsius\n2026-07-01 10:00,28.5\n",
			logger.Options{Zone: zone(t, "Europe/Berlin")},
			[]string{"2026-07-01T08:00:00Z 28.5"},
		},
		{
			"the hour that is shown twice in autumn",
			"time,celsius\n2026-10-25 01:30,1\n2026-10-25 02:30,2\n2026-10-25 02:30,3\n2026-10-25 03:30,4\n",
			logger.Options{Zone: zone(t, "Europe/Berlin")},
			[]string{
				"2026-10-24T23:30:00Z 1", "2026-10-25T00:30:00Z 2",
				"2026-10-25T01:30:00Z 3", "2026-10-25T02:30:00Z 4",
			},
		},
	}
	for _, test := range tests {
		log, err := logger.Read(strings.NewReader(test.file), test.options)
		if err != nil {
			t.Errorf("%s: %v", test.why, err)
			continue
		}
		if diff := cmp.Diff(test.want, said(log.Readings)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", test.why, diff)
		}
		if log.Refused+log.Doubled+log.Backward != 0 {
			t.Errorf("%s: refused %d, doubled %d, backward %d; want none: %q",
				test.why, log.Refused, log.Doubled, log.Backward, log.Notes)
		}
	}
}

func TestReadDateOrder(t *testing.T) {
	tests := []struct {
		why, file string
		want      []string // days, or an error's words
		refused   string
	}{
		{
			"a day above twelve tells day first", "03/04/2026 10:00,28\n13/04/2026 10:00,28\n",
			[]string{"2026-04-03", "2026-04-13"},
			"",
		},
		{
			"and month first", "03/04/2026 10:00,28\n03/13/2026 10:00,28\n",
			[]string{"2026-03-04", "2026-03-13"},
			"",
		},
		{
			"without one the steadier walk tells",
			"03/04/2026 12:00,28\n04/04/2026 00:00,28\n05/04/2026 00:00,28\n",
			[]string{"2026-04-03", "2026-04-04", "2026-04-05"},
			"",
		},
		{
			"and month first", "04/03/2026 12:00,28\n04/04/2026 00:00,28\n04/05/2026 00:00,28\n",
			[]string{"2026-04-03", "2026-04-04", "2026-04-05"},
			"",
		},
		{
			"years of two digits, last", "30-04-26 10:00,28\n01-05-26 10:00,28\n",
			[]string{"2026-04-30", "2026-05-01"},
			"",
		},
		{
			"years of two digits, first", "26/04/29 10:00,28\n26/04/30 10:00,28\n26/05/01 10:00,28\n",
			[]string{"2026-04-29", "2026-04-30", "2026-05-01"},
			"",
		},
		{"the same in any order", "04/04/2026 10:00,28\n", []string{"2026-04-04"}, ""},
		{
			"within one day nothing tells", "03/04/2026 10:00,28\n03/04/2026 10:05,28\n", nil,
			"nothing in the file tells",
		},
		{
			"orders that contradict",
			"03/13/2026 10:00,28\n13/03/2026 10:05,28\n", nil, "different orders",
		},
	}
	for _, test := range tests {
		log, err := logger.Read(strings.NewReader("time,celsius\n"+test.file), logger.Options{})
		if test.refused != "" {
			wantRefused(t, test.why, log, err, test.refused)
			continue
		}
		var days []string
		for _, r := range log.Readings {
			days = append(days, r.Time.Format(time.DateOnly))
		}
		if diff := cmp.Diff(test.want, days); diff != "" || err != nil {
			t.Errorf("%s: %v (-want +got):\n%s", test.why, err, diff)
		}
	}
}

// wantRefused checks for one clear sentence and nothing beside it.
func wantRefused(t *testing.T, why string, log logger.Log, err error, words string) {
	t.Helper()
	if err == nil || !strings.Contains(err.Error(), words) || strings.Contains(err.Error(), "\n") {
		t.Errorf("%s: error %v, want one line with %q", why, err, words)
	}
	if diff := cmp.Diff(logger.Log{}, log); diff != "" {
		t.Errorf("%s: a refused file gave a log (-want +got):\n%s", why, diff)
	}
}

func TestReadRefuses(t *testing.T) {
	tests := []struct {
		why, file string
		options   logger.Options
		words     string
	}{
		{"an empty file", "", logger.Options{}, "find the log's columns"},
		{"prose", "this is not\na log, really\n", logger.Options{}, "find the log's columns"},
		{"a header alone", "time,celsius\n", logger.Options{}, "no row below its header"},
		{"no time", "reading,humidity,temperature\n1,40,30\n", logger.Options{}, "tells date and time"},
		{"no temperature", "time,battery\n2026-03-01 08:00,3\n", logger.Options{}, "is a temperature"},
		{
			"two temperatures", "time,temp 1,temp 2\n2026-03-01 08:00,28,29\n",
			logger.Options{},
			"both temperatures",
		},
		{
			"no row that can be read", "time,celsius\nyesterday,28\n",
			logger.Options{},
			`line 2: "yesterday" is no time`,
		},
		{"time of day without a date", "time,celsius\n08:00,28\n", logger.Options{}, "is no time"},
		{"minutes without a start", "minute,celsius\n0,28\n", logger.Options{}, "counts from a start"},
		{
			"a unit that contradicts the header", "time,celsius\n2026-03-01 08:00,28\n",
			logger.Options{Unit: "F"},
			"is in °C, not in °F",
		},
		{
			"a unit that does not exist here", "time,celsius\n2026-03-01 08:00,28\n",
			logger.Options{Unit: "K"},
			"C or F",
		},
		{"UTF-16", "\xff\xfet\x00i\x00", logger.Options{}, "UTF-16"},
	}
	for _, test := range tests {
		log, err := logger.Read(strings.NewReader(test.file), test.options)
		wantRefused(t, test.why, log, err, test.words)
	}
	broken := iotest.TimeoutReader(iotest.OneByteReader(strings.NewReader("time,celsius\n")))
	log, err := logger.Read(broken, logger.Options{})
	wantRefused(t, "a disk that fails", log, err, "read line 1 of the log: timeout")
}

func TestReadBadLines(t *testing.T) {
	file := `time,celsius,humidity
2026-03-01 08:00,28.1,80
2026-03-01 08:05,"28.2,81
2026-03-01 08:10,,82
2026-03-01 08:15,NaN,83
2026-03-01 08:20,28.5
# a comment

31.02.2026 08:25,28.6,85
2026-03-01 08:30,999,86
2026-03-01 08:35,28.8,---
2026-03-01 08:40,28.9,140
` + strings.Repeat("x", 70_000) + `
2026-03-01 08:45,29.0,88
`
	log, err := logger.Read(strings.NewReader(file), logger.Options{Probe: "p"})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"2026-03-01T08:00:00Z 28.1 0.8", "2026-03-01T08:20:00Z 28.5", "2026-03-01T08:35:00Z 28.8",
		"2026-03-01T08:40:00Z 28.9", "2026-03-01T08:45:00Z 29 0.88",
	}
	if diff := cmp.Diff(want, said(log.Readings)); diff != "" {
		t.Errorf("a bad line costs itself and no more (-want +got):\n%s", diff)
	}
	notes := []string{
		"2 rows have no believable humidity: their temperature is kept",
		"times carry no zone: they are taken as UTC",
		"line 3: a quote is not closed",
		`line 4: "" is no temperature`,
		`line 5: "NaN" is no temperature`,
		`line 9: "31.02.2026 08:25" is no time`,
		"line 13: the line is too long",
		"line 10: 999 °C is not within -55 to 125",
	}
	if diff := cmp.Diff(notes, log.Notes); diff != "" {
		t.Errorf("notes (-want +got):\n%s", diff)
	}
	if log.Refused != 6 || log.Readings[0].Probe != "p" {
		t.Errorf("refused %d, want 6; probe %q, want p", log.Refused, log.Readings[0].Probe)
	}
}

func TestReadNotesAreBounded(t *testing.T) {
	file := "time,celsius\n2026-03-01 08:00,28\n" + strings.Repeat("rubbish\n", 5000)
	log, err := logger.Read(strings.NewReader(file), logger.Options{})
	if err != nil || log.Refused != 5000 || len(log.Notes) > 50 {
		t.Errorf("%v, refused %d, %d notes; want 5000 and a few", err, log.Refused, len(log.Notes))
	}
	if last := log.Notes[len(log.Notes)-1]; last != "and 4980 more lines that hold no reading" {
		t.Errorf("the last note is %q", last)
	}
}

func TestReadClockAndGaps(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,celsius\n")
	start := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	row := func(minute, celsius int) {
		at := start.Add(time.Duration(minute) * time.Minute)
		fmt.Fprintf(&b, "%s,%d\n", at.Format(time.RFC3339), celsius)
	}
	for m := 0; m <= 30; m += 5 {
		row(m, 20)
	}
	for m := 20; m <= 50; m += 5 { // ten minutes back: 20, 25 and 30 come twice
		row(m, 30)
	}
	row(75, 30) // five intervals: no gap
	row(101, 30)
	log, err := logger.Read(strings.NewReader(b.String()), logger.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if log.Doubled != 3 || log.Backward != 1 || log.Interval != 5*time.Minute {
		t.Errorf("doubled %d, backward %d, interval %v; want 3, 1, 5m",
			log.Doubled, log.Backward, log.Interval)
	}
	at := func(m int) time.Time { return start.Add(time.Duration(m) * time.Minute) }
	if diff := cmp.Diff([]logger.Gap{{From: at(75), To: at(101)}}, log.Gaps); diff != "" {
		t.Errorf("gaps (-want +got):\n%s", diff)
	}
	for _, r := range log.Readings {
		if first := r.Time.Before(at(31)); first != (r.Celsius == 20) {
			t.Errorf("%v holds %v: the first of a time must be kept", r.Time, r.Celsius)
		}
	}
	notes := []string{
		"3 rows bear a time that was there already: the first of each is kept",
		"line 9: the clock steps back 10m0s, to 2026-03-01T08:20:00Z",
	}
	if diff := cmp.Diff(notes, log.Notes); diff != "" {
		t.Errorf("notes (-want +got):\n%s", diff)
	}
}

func TestWrite(t *testing.T) {
	at := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	var b bytes.Buffer
	err := logger.Write(&b, []incubation.Reading{
		{Time: at, Has: incubation.Temperature, Celsius: 28.25},
		{Time: at.Add(time.Minute), Has: incubation.RelativeHumidity, Humidity: 0.5},
		{
			Time: at.Add(2 * time.Minute), Has: incubation.Temperature | incubation.RelativeHumidity,
			Celsius: 28, Humidity: 0.5,
		},
	})
	want := "time,celsius,humidity_ratio,quality\n2026-03-01T08:00:00Z,28.25,,good\n" +
		"2026-03-01T08:01:00Z,,0.5,good\n2026-03-01T08:02:00Z,28,0.5,good\n"
	if diff := cmp.Diff(want, b.String()); diff != "" || err != nil {
		t.Errorf("%v (-want +got):\n%s", err, diff)
	}
}

// What Read accepts is sorted, finite, without two at one time, and read the
// same once written; what it refuses is nothing.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		"time,celsius\n2026-03-01T08:00:00Z,28.5\n2026-03-01T07:00:00+01:00,28.6\n",
		"time,celsius,humidity_ratio,quality\n2026-03-01T08:00:00Z,28,,suspect\n" +
			"2026-03-01T08:10:00Z,,1,saturated\n",
		"Date;Time;Temp °F;%RH\n13/04/2026;1:05 pm;83,3;81,2\n14/04/2026;1:05 pm;83,3;120\n",
		"minute\ttemp\n0\t28\n15\t28.1\n15\t28.2\n-5\t28.3\n",
		"epoch,value\n1772352000,28.5\n1772352000.5,28.5\n1772352000123,1e2\n",
		"2026-03-01 08:00,28.5\n26/03/01 08:00,28.5\n",
		"\"time\",\"temp, \"\"c\"\"\"\n\"1-Mar-26 08:00\",28\n",
	} {
		f.Add(seed, "")
		f.Add(seed, "F")
	}
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, file, unit string) {
		log, err := logger.Read(strings.NewReader(file), logger.Options{Unit: unit, Start: start})
		if err != nil {
			if diff := cmp.Diff(logger.Log{}, log); diff != "" {
				t.Fatalf("refused with a log: %s", diff)
			}
			return
		}
		for i, r := range log.Readings {
			if math.IsNaN(float64(r.Celsius)) || r.Celsius < -55 || r.Celsius > 125 ||
				!(r.Humidity >= 0 && r.Humidity <= 1) {
				t.Fatalf("reading %d is %+v", i, r)
			}
			if i > 0 && !r.Time.After(log.Readings[i-1].Time) {
				t.Fatalf("reading %d at %v follows one at %v", i, r.Time, log.Readings[i-1].Time)
			}
		}
		var b bytes.Buffer
		if err := logger.Write(&b, log.Readings); err != nil {
			t.Fatal(err)
		}
		again, err := logger.Read(&b, logger.Options{})
		if err != nil {
			t.Fatalf("what was written is refused: %v", err)
		}
		if diff := cmp.Diff(log.Readings, again.Readings); diff != "" {
			t.Fatalf("written and read again (-first +second):\n%s", diff)
		}
	})
}
