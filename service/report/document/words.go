package document

import "strings"

// words are the fixed texts of a report in one language. What the stages say of a group, such as the reason of a decision or a
// note, is English whatever the language, and is marked as such. {name} stands for what is filled in.
type words struct {
	// Language is the tag of the language, as HTML takes it.
	Language string
	// Ordinal writes the name of a percentile.
	Ordinal func(fraction float64) string

	Title, Skip, ToSummary                              string
	LeadOne, LeadMany, LeadDates                        string
	Summary, SummaryCaption, SummaryLimits, SummaryNote string
	Outcome, Group, Readings, Limit, Percentile         string
	Exceedance, Reason, AtMost, AtMostHead, OfValue     string
	Compliant, NotCompliant, Undecided, NotJudged       string
	Refused, NotApplied                                 string
	JudgedBy, RefusalLead, Reassess                     string
	GroupNumber, NoLimit, NoReadings                    string

	Notes, NoNotes, Warning, Caution, Note string

	ReadingsCaption, ReadingsBare, ReadingsShare, Number, Zone, Subject, Campaign, ID string
	Start, Minutes, Result, ReadingBelow, ReadingAbove                                string
	ReadingBetween                                                                    string
	Sample, SampleOne, SampleMany, SampleRange                                        string
	WithValue, BelowLimit, AboveRange, BetweenBounds                                  string
	Prior, MeasuringError                                                             string
	Calibrated, Dependent, StatedLimit                                                string

	Estimates, EstimatesCaption, Quantity, Estimate, AtLeast        string
	GeometricMean, GeometricSpread, ArithmeticMean, PercentileRow   string
	ExceedanceRow, NoFit, FitCheck, FitCheckText                    string
	Posterior, PosteriorCaption, OfLimit, ThatIs, Probability       string
	UpTo, Between, Above, AboveText                                 string
	Free, FreeUpper, FreeLower, FreeNeeded, FreeCounted, FreeSurely string

	Figures string

	Decisions, DecisionsCaption, Rule, Arithmetic, Source, Chosen  string
	Methods, MethodsCaption, Method, SourceOf, AllGroups, Formulas string
	Rules, RulesCaption, Meaning, Groups                           string

	About, AboutCaution, English, Reproduce, ReproduceText string
	Version, Digest, Glossary                              string
	Terms                                                  []term
	// Quantities are what the numbers are called whose methods are stated, by their path in the answer.
	Quantities map[string]string
}

// term is a word with its meaning.
type term struct{ Term, Meaning string }

// wordsOf returns the texts of a language; an empty one is English.
func wordsOf(language string) (*words, bool) {
	switch strings.ToLower(language) {
	case "", "en":
		return english(), true
	}
	return nil, false
}

// Languages lists the languages in which a report can be written.
func Languages() []string { return []string{"en"} }

// fill puts values in place of names in braces, in one pass, so that nothing in a value is taken for a name.
func fill(text string, pairs ...string) string {
	for i := 0; i < len(pairs); i += 2 {
		pairs[i] = "{" + pairs[i] + "}"
	}
	return strings.NewReplacer(pairs...).Replace(text)
}
