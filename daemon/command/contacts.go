package command

import (
	"context"
	"fmt"
	"io"
	"time"

	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/contact"
)

// contactsNow lists the running daemon's contacts; without any, nothing.
func contactsNow(ctx context.Context, r running, table io.Writer) error {
	var contacts []monitor.ContactNow
	if err := r.get(ctx, "/contacts", &contacts); err != nil {
		return err
	}
	for i, c := range contacts {
		if i == 0 {
			fmt.Fprintln(table, "\nCONTACT\tKIND\tSAYS\tPLACE\tSOURCE")
		}
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\n", c.ID, c.Kind, contactSays(c), orNobody(c.Place), c.Source)
	}
	return nil
}

func contactSays(c monitor.ContactNow) string {
	switch {
	case c.Sure():
		return withDetail(c.State()+" since "+c.Since.Format(time.RFC3339), c.Detail)
	case c.Read.IsZero():
		return "nothing yet " + string(c.Fault)
	}
	return "nothing since " + c.Read.Format(time.RFC3339) + " " + string(c.Fault)
}

// readContacts reads every contact of the config, with no daemon running.
func readContacts(ctx context.Context, cfg config.Config, table io.Writer) {
	if len(cfg.Contacts) == 0 {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, readWithin)
	defer cancel()
	r := contact.Open(cfg.ContactSpecs())
	said := map[string]string{}
	known := r.Contacts()
	kinds := map[string]incubation.ContactKind{}
	for _, c := range known {
		kinds[c.ID] = c.Kind
	}
	for _, o := range r.Once(ctx) {
		said[o.Contact] = outcomeSays(kinds[o.Contact], o)
	}
	fmt.Fprintln(table, "\nCONTACT\tKIND\tSAYS\tSOURCE")
	for _, c := range known {
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\n", c.ID, c.Kind, said[c.ID], c.Source)
	}
}

func outcomeSays(kind incubation.ContactKind, o sensors.ContactOutcome) string {
	if o.Fault != nil {
		return string(o.Fault.Cause)
	}
	return withDetail(kind.State(o.On), o.Detail)
}

func withDetail(state, detail string) string {
	if detail == "" {
		return state
	}
	return state + ", " + detail
}
