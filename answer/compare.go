package answer

import (
	"knobwise/bench/box"
	"knobwise/study/compare"
	"knobwise/study/identify"
)

// Compared is the JSON of circuits that were held against measurements.
type Compared struct {
	Candidates []RankedCandidate `json:"candidates"`
	Explained  bool              `json:"explained"`
	Difference *Difference       `json:"difference"`
	Warnings   []string          `json:"warnings"`
}

// RankedCandidate is the JSON of one circuit.
type RankedCandidate struct {
	Name       string       `json:"name"`
	About      string       `json:"about"`
	Rank       int          `json:"rank"`
	Weight     Number       `json:"weight"`
	Behind     Number       `json:"criterion_behind"`
	Residual   Number       `json:"residual_rms"`
	Parameters int          `json:"parameters"`
	Values     []FoundValue `json:"values"`
	Status     string       `json:"status"`
	Like       []string     `json:"not_told_from"`
	Screened   bool         `json:"screened"`
	Error      string       `json:"error"`
}

// Difference is the JSON of where two circuits differ most.
type Difference struct {
	First     string      `json:"first"`
	Second    string      `json:"second"`
	Setting   box.Setting `json:"setting"`
	Setup     string      `json:"setup"`
	SetupFile string      `json:"setup_file"` // empty where no file has it
	Frequency Number      `json:"frequency_hz"`
	Decibels  Number      `json:"difference_db"`
	Sure      Number      `json:"standard_deviations"`
}

// OfCompared puts a comparison into its JSON form.
func OfCompared(r *compare.Result) Compared {
	out := Compared{Explained: r.Explained, Warnings: OrEmpty(r.Notices), Candidates: []RankedCandidate{}}
	for _, c := range r.Candidates {
		x := RankedCandidate{Name: c.Name, About: c.About, Rank: c.Rank, Weight: Number(c.Weight), Behind: Number(c.Behind), Parameters: c.Parameters, Like: OrEmpty(c.Like), Screened: c.Screened, Error: c.Wrong, Values: []FoundValue{}}
		if c.Result != nil {
			x.Residual, x.Status, x.Values = Number(c.Result.RMS), string(c.Result.Status), OfValues(c.Result.Values)
		}
		out.Candidates = append(out.Candidates, x)
	}
	if d := r.Difference; d != nil {
		out.Difference = &Difference{d.First, d.Second, d.Possible.Setting, d.Possible.SetupName, d.Possible.SetupFile, Number(d.Frequency), Number(d.Decibels), Number(d.Sure)}
	}
	return out
}

// Proposed is the JSON of measurements worth taking.
type Proposed struct {
	Proposals []Proposal `json:"proposals"`
	Tried     int        `json:"tried"`
	Warnings  []string   `json:"warnings"`
}

// Proposal is the JSON of one of them, with what it would bring beside those before it.
type Proposal struct {
	Setting   box.Setting `json:"setting"`
	Setup     string      `json:"setup"`
	SetupFile string      `json:"setup_file"` // empty where no file has it
	Reference bool        `json:"reference"`
	Peak      Number      `json:"peak_hz"`
	Gain      Number      `json:"gain"`
	Values    []Expected  `json:"values"`
}

// Expected is the JSON of half a 95 % interval as a part of its value, before and after.
type Expected struct {
	Name   string `json:"name"`
	Before Number `json:"before"`
	After  Number `json:"after"`
	Wanted bool   `json:"wanted"`
}

// OfProposals puts proposals into their JSON form.
func OfProposals(all []identify.Proposal, tried int, warnings []string) Proposed {
	out := Proposed{Proposals: []Proposal{}, Tried: tried, Warnings: OrEmpty(warnings)}
	for _, p := range all {
		x := Proposal{Setting: p.Setting, Setup: p.SetupName, SetupFile: p.SetupFile, Reference: p.Reference, Peak: Number(p.Peaked), Gain: Number(p.Gain), Values: []Expected{}}
		for _, e := range p.After {
			x.Values = append(x.Values, Expected{e.Name, Number(e.Before), Number(e.After), e.Wanted})
		}
		out.Proposals = append(out.Proposals, x)
	}
	return out
}
