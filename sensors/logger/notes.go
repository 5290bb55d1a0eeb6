package logger

import "fmt"

// told is how many lines of one kind are noted one by one.
const told = 20

// notes gathers sentences for the keeper.
type notes struct {
	general []string
	lines   []string // the first refused lines
	refused int
	steps   []string // the first steps back
	stepped int
}

func (n *notes) add(format string, args ...any) {
	n.general = append(n.general, fmt.Sprintf(format, args...))
}

func (n *notes) refuse(text string) {
	n.refused++
	if len(n.lines) < told {
		n.lines = append(n.lines, text)
	}
}

func (n *notes) step(format string, args ...any) {
	n.stepped++
	if len(n.steps) < told {
		n.steps = append(n.steps, fmt.Sprintf(format, args...))
	}
}

func (n *notes) all() []string {
	all := append(n.general, n.steps...)
	if more := n.stepped - len(n.steps); more > 0 {
		all = append(all, fmt.Sprintf("and %d more steps back", more))
	}
	all = append(all, n.lines...)
	if more := n.refused - len(n.lines); more > 0 {
		all = append(all, fmt.Sprintf("and %d more lines that hold no reading", more))
	}
	return all
}
