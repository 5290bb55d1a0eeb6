package web

import (
	"fmt"

	"clutchd/incubation/handout"
)

// labelsCookie keeps the sheet that this browser printed on last, the next
// free label on it and whether it is to be cut: "A4-3x7 5 cut".
const labelsCookie = "clutchd_labels"

// A labelSheet is the sheet of labels that lies in the printer.
type labelSheet struct {
	stock handout.Stock
	next  int // from 1
	cut   bool
}

// lastSheet is the one that was printed on last; a new one of the first stock
// if there is none.
func (v *visit) lastSheet() labelSheet {
	s := labelSheet{stock: handout.Stocks()[0], next: 1}
	var name, cut string
	var next int
	_, _ = fmt.Sscan(v.remembered(labelsCookie), &name, &next, &cut)
	if stock, ok := handout.StockNamed(name); ok && next >= 1 && next <= stock.PerSheet() {
		s = labelSheet{stock: stock, next: next, cut: cut == "cut"}
	}
	return s
}

// keepSheet remembers where an order ends.
func (v *visit) keepSheet(l handout.Labels) {
	cut := "whole"
	if l.CutMarks {
		cut = "cut"
	}
	next := (l.First-1+len(l.Boxes)+len(l.Slots))%l.Stock.PerSheet() + 1
	v.remember(labelsCookie, fmt.Sprintf("%s %d %s", l.Stock.Name, next, cut))
}
