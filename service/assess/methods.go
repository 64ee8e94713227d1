package assess

import (
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/report"
)

// methods says which formula gave each number of the answer. The order is that of the response.
func methods(a *report.Assessment, f *fit.Fit) []report.Method {
	out := make([]report.Method, 0, 8)
	switch {
	case a.Fit == nil:
	case f.Exact:
		out = exactMethods(out, a.Exceedance != nil)
	default:
		out = quadratureMethods(out, f, a.Exceedance != nil)
	}
	if c := a.FitCheck; c != nil {
		out = append(out, checkMethod(c, f))
	}
	if a.Dependence != nil {
		out = append(out, dependenceMethod())
	}
	if a.DistributionFree != nil {
		out = append(out, report.Method{
			Quantity: "distributionFree", Method: "order statistics for the percentile, exact binomial (Clopper-Pearson) limits for the exceedance",
			Source: "NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.4 and 7.2.4.1 (from memory)",
		})
	}
	return out
}

// exactMethods are the closed forms that hold when every reading has a value.
func exactMethods(out []report.Method, judged bool) []report.Method {
	out = append(out,
		report.Method{
			Quantity: "fit.geometricMean", Method: "exp of the mean of ln reading; limits from Student's t",
			Source: "NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2",
		},
		report.Method{
			Quantity: "fit.geometricStandardDeviation",
			Method:   "exp of the standard deviation of ln reading (divisor n-1); limits from chi-square",
			Source:   "NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.3.1 (from memory)",
		},
		report.Method{
			Quantity: "fit.arithmeticMean", Method: "minimum-variance unbiased estimate; Land's exact limits",
			Source: "Finney 1941, J R Stat Soc Suppl 7:155; Land 1971, Ann Math Stat 42:1187 (from memory)",
		},
		report.Method{
			Quantity: "percentile", Method: "exp(mean + z s); limits exp(mean + k s), k the exact tolerance factor from the noncentral t",
			Source: "NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3",
		},
	)
	if !judged {
		return out
	}
	return append(out,
		report.Method{
			Quantity: "exceedance", Method: "1 - Phi((ln limit - mean)/s); limits from the noncentral t solved for its noncentrality",
			Source: "Hahn and Meeker 1991, Statistical Intervals, 4.5 (from memory)",
		},
		report.Method{
			Quantity: "posterior", Method: "noncentral t, the exact posterior under the prior 1/sigma",
			Source: "Guttman 1970, Statistical Tolerance Regions (from memory)",
		})
}

// quadratureMethods are those of readings without a value, of a prior and of a measurement error.
func quadratureMethods(out []report.Method, f *fit.Fit, judged bool) []report.Method {
	estimates := report.Method{
		Quantity: "fit", Method: "maximum likelihood of ln reading; a reading without a value counts with the probability of its range",
		Source: "Cohen 1959, Technometrics 1:217; Burridge 1981, J R Stat Soc B 43:41 (from memory)",
	}
	if !f.ML() {
		estimates.Method = "medians of the posterior"
		estimates.Source = "Gelman et al., Bayesian Data Analysis (from memory)"
	}
	out = append(out, estimates, report.Method{Quantity: "fit, percentile, exceedance: limits", Method: f.Source(), Source: limitSource(f)})
	if judged && f.Posterior != nil {
		out = append(out, report.Method{
			Quantity: "posterior", Method: "deterministic quadrature of likelihood and prior over mu and sigma",
			Source: "Gelman et al., Bayesian Data Analysis (from memory); checked against reference tables",
		})
	}
	return out
}

func limitSource(f *fit.Fit) string {
	if f.Calibrated() {
		return "Skovgaard 1996, Bernoulli 2:145 (from memory); coverage in testdata/certificate"
	}
	return "quantiles of the posterior by deterministic quadrature; coverage in testdata/certificate"
}

func checkMethod(c *report.FitCheck, f *fit.Fit) report.Method {
	switch {
	case !f.Exact:
		return report.Method{
			Quantity: "fitCheck", Method: "plotting positions that count non-detects (Hirsch-Stedinger; product-limit for readings above a range)",
			Source: "Helsel and Cohn 1988, Water Resour Res 24:1997; Hirsch and Stedinger 1987, Water Resour Res 23:715 (from memory)",
		}
	case math.IsNaN(c.Statistic):
		return report.Method{Quantity: "fitCheck", Method: "plotting positions (i - 3/8)/(n + 1/4)", Source: "Blom 1958"}
	}
	return report.Method{
		Quantity: "fitCheck", Method: "Shapiro-Wilk on ln reading; plotting positions (i - 3/8)/(n + 1/4)",
		Source: "Royston 1995, Appl Stat 44:547 (AS R94); Blom 1958",
	}
}
