package alerts

import "time"

// seasonRules are about the females. What is due by day is a list on the pages
// and, if the keeper wants it, one message a day: only what must not wait is
// told here, and nothing where no check is ever written down.
func seasonRules() []Rule {
	return []Rule{
		{
			Code: "vet", Title: "A vet's matter", About: FemaleSubject,
			Severity: Warning, Empty: Warning,
			OnDelay: time.Minute, OffDelay: time.Minute,
			Text: Text{
				Now:   "{Name} is to be shown to a vet.{detail}",
				First: "Ring one who knows reptiles. Keep her warm and quiet, and press on nothing.",
				Over:  "{Name}: nothing in the book asks for a vet any more.",
			},
			Why: "White eggs were seen and she strains, is weak or has carried them for more than three weeks; " +
				"or her belly is red, which may be a burn, or she is weak whatever the season. An " +
				"interval that is longer than usual is no reason: alone it neither reassures nor alarms.",
			Mark: Judgement,
		},
		{
			Code: "lay-box", Title: "Eggs may lie unseen", About: FemaleSubject,
			Severity: Info, Empty: Info, Event: true,
			OnDelay: time.Hour, OffDelay: time.Hour,
			Text: Text{
				Now:   "{Name} may have laid.{detail}",
				First: "Look into her lay box, and at her belly. Turn no egg.",
			},
			Why: "White eggs were seen and nobody has looked for two days since; or the likeliest day of her next " +
				"clutch has passed and nobody has looked for a week. Eggs dry out in a lay box within days. " +
				"A check or the clutch in the book ends it.",
			Mark: CommonPractice,
		},
		{
			Code: "checks-due", Title: "Checks are late", About: SystemSubject,
			Severity: Info, Empty: Info, Event: true,
			OnDelay: time.Hour, OffDelay: time.Hour,
			Text: Text{
				Now:   "Bellies were to be looked at a week ago and more.{detail}",
				First: "The list of today has them in the order of a round.",
			},
			Why: "One message for all, and only of those that are a week late by what their last check showed: " +
				"before that they stand on the list.",
			Mark: Judgement,
		},
	}
}
