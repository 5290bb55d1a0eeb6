package book

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"
)

// line is what every kind's data can do. All three are told when it happened;
// shape looks at the data alone, sense at the state as it stood then, and
// write makes it true in that state.
type line interface {
	shape(at time.Time) *Problem
	sense(s *State, at time.Time) *Problem
	write(s *State, at time.Time, seq uint64)
}

// Decode gives the entry's data as its kind's own type, a value and not a
// pointer: a PlaceData for KindPlace and so on. An unknown kind or field, or
// anything behind the object, is an error and the data nil. It does not ask
// whether the values make sense; Check does.
func Decode(e Entry) (any, error) {
	l, err := parse(e)
	if err != nil {
		return nil, err
	}
	return l, nil
}

// decoders hold each kind's way to its own type.
var decoders = map[Kind]func(Entry) (line, error){
	KindPlace:        object[PlaceData],
	KindStand:        object[StandData],
	KindProbe:        object[ProbeData],
	KindCalibrated:   object[CalibratedData],
	KindContact:      object[ContactData],
	KindSetpoint:     object[SetpointData],
	KindPlan:         object[PlanData],
	KindLimits:       object[LimitsData],
	KindService:      object[ServiceData],
	KindFemale:       object[FemaleData],
	KindAnimal:       object[AnimalData],
	KindHoused:       object[HousedData],
	KindChecked:      object[CheckedData],
	KindPaired:       object[PairedData],
	KindWeighed:      object[WeighedData],
	KindTreated:      object[TreatedData],
	KindQuarantine:   object[QuarantineData],
	KindRetired:      object[RetiredData],
	KindPhoto:        object[PhotoData],
	KindGates:        object[GatesData],
	KindSeason:       object[SeasonData],
	KindLooked:       object[LookedData],
	KindMilestone:    object[MilestoneData],
	KindLaying:       object[LayingData],
	KindEgg:          object[EggData],
	KindCandle:       object[CandleData],
	KindPip:          object[EggEvent],
	KindHatch:        object[HatchData],
	KindSexed:        object[SexedData],
	KindFail:         object[FailData],
	KindNote:         object[NoteData],
	KindVoid:         object[VoidData],
	KindAcknowledged: object[AlertData],
	KindUnshelved:    object[AlertData],
	KindShelved:      object[ShelvedData],
}

// Kinds gives every kind of entry there is, in the order of their names.
func Kinds() []Kind { return slices.Sorted(maps.Keys(decoders)) }

func parse(e Entry) (line, error) {
	if decode := decoders[e.Kind]; decode != nil {
		return decode(e)
	}
	return nil, fmt.Errorf("decode entry: kind %.40q is not known", string(e.Kind))
}

// object decodes data of one type: one JSON object, every field known.
func object[T line](e Entry) (line, error) {
	data := bytes.TrimLeft(e.Data, " \t\r\n")
	if len(data) == 0 || data[0] != '{' {
		return nil, fmt.Errorf("decode %s entry: its data is not a JSON object", e.Kind)
	}
	var v T
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&v); err != nil {
		return nil, fmt.Errorf("decode %s entry: %s", e.Kind, reason(err))
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("decode %s entry: something follows its data", e.Kind)
	}
	return v, nil
}

// reason says what is wrong with the data without the library's own name.
func reason(err error) string {
	return strings.TrimPrefix(err.Error(), "json: ")
}
