package book

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
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

func parse(e Entry) (line, error) {
	switch e.Kind {
	case KindPlace:
		return object[PlaceData](e)
	case KindStand:
		return object[StandData](e)
	case KindProbe:
		return object[ProbeData](e)
	case KindCalibrated:
		return object[CalibratedData](e)
	case KindContact:
		return object[ContactData](e)
	case KindSetpoint:
		return object[SetpointData](e)
	case KindPlan:
		return object[PlanData](e)
	case KindLimits:
		return object[LimitsData](e)
	case KindService:
		return object[ServiceData](e)
	case KindFemale:
		return object[FemaleData](e)
	case KindAnimal:
		return object[AnimalData](e)
	case KindHoused:
		return object[HousedData](e)
	case KindChecked:
		return object[CheckedData](e)
	case KindPaired:
		return object[PairedData](e)
	case KindWeighed:
		return object[WeighedData](e)
	case KindTreated:
		return object[TreatedData](e)
	case KindQuarantine:
		return object[QuarantineData](e)
	case KindRetired:
		return object[RetiredData](e)
	case KindPhoto:
		return object[PhotoData](e)
	case KindGates:
		return object[GatesData](e)
	case KindLooked:
		return object[LookedData](e)
	case KindMilestone:
		return object[MilestoneData](e)
	case KindLaying:
		return object[LayingData](e)
	case KindEgg:
		return object[EggData](e)
	case KindCandle:
		return object[CandleData](e)
	case KindPip:
		return object[EggEvent](e)
	case KindHatch:
		return object[HatchData](e)
	case KindSexed:
		return object[SexedData](e)
	case KindFail:
		return object[FailData](e)
	case KindNote:
		return object[NoteData](e)
	case KindVoid:
		return object[VoidData](e)
	case KindAcknowledged, KindUnshelved:
		return object[AlertData](e)
	case KindShelved:
		return object[ShelvedData](e)
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
