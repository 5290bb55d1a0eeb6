// Package proof holds the measuring stick of the alerts, and no code: its tests
// live a healthy year, break a room in every way that could be thought of, and
// replay records of real machines, all as bytes on the wires that the sensors'
// packages decode.
//
// Nothing in it tells the program what is wrong: a fault is another temperature
// in the model of the room, other bytes in a kernel file or on a bus, another
// payload, or silence. It proves nothing about a real room: the model's sizes
// are invented, its noise alone is measured. Temperatures are °C, differences
// K, times UTC.
package proof
