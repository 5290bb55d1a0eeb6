package incubation

// ContactKind says what a contact, a yes/no input, tells of.
type ContactKind string

// The kinds of contact. What it means that one is on stands beside each.
const (
	Mains ContactKind = "mains" // on: the mains are there
	Door  ContactKind = "door"  // on: the door is open
	Leak  ContactKind = "leak"  // on: it is wet
)

// ContactKinds gives every kind.
func ContactKinds() []ContactKind { return []ContactKind{Mains, Door, Leak} }

// State gives the word for a contact that is on, or off.
func (k ContactKind) State(on bool) string {
	pair := [2]string{"off", "on"}
	switch k {
	case Mains:
		pair = [2]string{"off", "present"}
	case Door:
		pair = [2]string{"shut", "open"}
	case Leak:
		pair = [2]string{"dry", "wet"}
	}
	if on {
		return pair[1]
	}
	return pair[0]
}

// A ContactStay says that a contact told of a place from a time to a time: of
// the door of an incubator, the mains of a room, water under it.
type ContactStay struct {
	Contact string
	Kind    ContactKind
	Stay    Stay
}
