package variance

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.com/tailbound/service/reading"
)

const (
	// uniform is the ratio of the 97.5th to the 2.5th percentile of the means up to which a group is called uniform (Rappaport et al.
	// 1993, Am Ind Hyg Assoc J 54:654).
	uniform = 2
	// fewAbove is the chance of a zone's own percentile above the limit up to which a group may still be judged as one (BOHS/NVvA
	// 2011, from memory). Where the chance lies between this and its complement, the limit cuts through the zones.
	fewAbove = 0.2
	// fewZones is the number of zones under which sigma_b is hardly known: four degrees of freedom leave a factor of 2.4 between it
	// and its upper 95 % limit.
	fewZones = 5
)

// grounds are what speaks against pooling.
type grounds struct{ differ, large, cut, outside bool }

func (r *Result) grounds(o Options) grounds {
	return grounds{
		differ:  r.Test.PValue < 1-o.Confidence,
		large:   r.Ratio.Estimate > uniform || math.IsNaN(r.Ratio.Estimate),
		cut:     r.Chance != nil && r.Chance.Estimate >= fewAbove && r.Chance.Estimate <= 1-fewAbove,
		outside: slices.ContainsFunc(r.Zones, func(z Zone) bool { return z.Outside }),
	}
}

// verdict says whether the zones may be pooled: not when one does not belong, nor when they differ by more than chance and either
// the differences are large or the limit cuts through the zones. Differences that chance could make leave the group as it
// is, but settled only if they are shown to be small.
func (r *Result) verdict(o Options) Pooling {
	g := r.grounds(o)
	apart := g.outside || g.differ && (g.large || g.cut)
	p := Pooling{Pool: !apart}
	p.Settled = !p.Pool || r.Ratio.Upper <= uniform
	what := o.What
	switch {
	case g.outside:
		p.sayf("Judge the %ss apart: some do not belong.", what)
	case !p.Pool:
		p.sayf("Judge the %ss apart: they differ by more than chance would make them.", what)
	case p.Settled:
		p.sayf("The %ss may be pooled: they are shown to be alike.", what)
	case g.differ:
		p.sayf("The %ss may be pooled: they differ by more than chance would make them, but little.", what)
	default:
		p.sayf("The %ss may be pooled for want of evidence: nothing shows that they differ, nor that they are alike.", what)
	}
	p.test(r, g, what)
	p.ratio(r, o)
	p.chance(r, o)
	p.outsiders(r, o)
	return p
}

func (p *Pooling) sayf(format string, args ...any) {
	p.Reasons = append(p.Reasons, fmt.Sprintf(format, args...))
}

func number(v float64) string { return reading.Figures(v, 3) }

func percent(v float64) string { return reading.Figures(100*v, 3) + " %" }

// stated writes a number that was stated or counted: no more figures than it needs.
func stated(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// percentile names the percentile of a fraction: "95th percentile".
func percentile(fraction float64) string {
	text := stated(100 * fraction)
	suffix := "th"
	if last := text[len(text)-1]; !strings.Contains(text, ".") && last >= '1' && last <= '3' {
		suffix = [...]string{"st", "nd", "rd"}[last-'1']
	}
	return text + suffix + " percentile"
}

func (p *Pooling) test(r *Result, g grounds, what string) {
	finding := "chance alone could make such differences"
	if g.differ {
		finding = "chance alone would hardly make such differences"
	}
	kind := ""
	if !r.Test.Exact {
		kind = ", on as many readings with a value as would say the same"
	}
	if math.IsNaN(r.Test.PValue) {
		p.sayf("Too many readings have no value for an F test of no difference between the %ss.", what)
		return
	}
	p.sayf("F test of no difference between the %ss%s: F = %s with %s and %s degrees of freedom, p = %s; %s.", what, kind,
		number(r.Test.Statistic), stated(r.Test.Between), stated(r.Test.Within), number(r.Test.PValue), finding)
}

func (p *Pooling) ratio(r *Result, o Options) {
	p.sayf("The 97.5th percentile of the %s means is %s times the 2.5th (%s); up to %d is called uniform.", o.What,
		number(r.Ratio.Estimate), limits(r.Ratio, o, number), uniform)
}

func (p *Pooling) chance(r *Result, o Options) {
	if r.Chance == nil {
		return
	}
	p.sayf("A randomly chosen %s has its own %s above the limit with a chance of %s (%s).", o.What, percentile(o.Percentile),
		percent(r.Chance.Estimate), limits(*r.Chance, o, percent))
}

// limits writes limits as far as there are any.
func limits(b Bounds, o Options, write func(float64) string) string {
	if math.IsNaN(b.Lower) {
		return "without limits"
	}
	if math.IsNaN(b.Upper) {
		return fmt.Sprintf("lower %s %% limit %s, upper beyond numbers", stated(100*o.Confidence), write(b.Lower))
	}
	return fmt.Sprintf("%s %% limits %s and %s", stated(100*o.Confidence), write(b.Lower), write(b.Upper))
}

func (p *Pooling) outsiders(r *Result, o Options) {
	for _, z := range r.Zones {
		if !z.Outside {
			continue
		}
		p.Outsiders = append(p.Outsiders, z.Name)
		side := "above"
		if z.Deviance < 0 {
			side = "below"
		}
		p.sayf("%q does not belong: its mean lies %s standard deviations %s what the others foretell, p = %s for %d %ss together.",
			z.Name, number(math.Abs(z.Deviance)), side, number(math.Min(1, z.PValue*float64(len(r.Zones)))), len(r.Zones), o.What)
	}
	slices.Sort(p.Outsiders)
}
