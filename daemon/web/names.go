package web

import (
	"strings"

	"clutchd/incubation"
	"clutchd/sensors"
)

// The words that pages use for the codes of the contracts.

// oneOf is a place of that kind, as a sentence names it.
func oneOf(k incubation.PlaceKind) string {
	switch k {
	case incubation.Room:
		return "the room"
	case incubation.LayBox:
		return "a lay box"
	}
	return "an " + kindWord(k)
}

func kindWord(k incubation.PlaceKind) string {
	switch k {
	case incubation.Box:
		return "egg box"
	case incubation.LayBox:
		return "lay box"
	}
	return string(k)
}

// seenWord is what a candle showed.
func seenWord(seen string) string {
	if seen == "unsure" {
		return "not sure"
	}
	return seen
}

func positionWord(p incubation.Position) string {
	switch p {
	case incubation.Substrate:
		return "in the substrate, beside the eggs"
	case incubation.BoxAir:
		return "in the box's air"
	case incubation.IncubatorAir:
		return "in the incubator's air"
	}
	return string(p)
}

// causeWord says what a fault means to someone who stands before the room.
func causeWord(c sensors.Cause) string {
	told := map[sensors.Cause]string{
		sensors.Absent:      "does not answer: look at plug and wire",
		sensors.Checksum:    "answers damaged: a long or loose wire",
		sensors.PowerOn:     "has just lost power and measured nothing",
		sensors.OutOfRange:  "says what it cannot measure",
		sensors.Unparsable:  "says something that is no value",
		sensors.NotReady:    "was not ready",
		sensors.IO:          "could not be read",
		sensors.Timeout:     "took too long to answer",
		sensors.BusStuck:    "sits on a bus that hangs",
		sensors.Silent:      "has not spoken: look at its battery",
		sensors.DeadBus:     "sits on a bus that nobody drives",
		sensors.Unsupported: "is not the chip it was set up as",
	}
	if t, ok := told[c]; ok {
		return t
	}
	return strings.ReplaceAll(string(c), "-", " ")
}
