package assess

import "example.com/tailbound/service/report"

// methods says which formula gave each number of the answer. The order is that of the response.
func methods(a *report.Assessment) []report.Method {
	if a.Fit == nil {
		return nil
	}
	out := make([]report.Method, 0, 8)
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
	if a.Exceedance != nil {
		out = append(out,
			report.Method{
				Quantity: "exceedance", Method: "1 - Phi((ln limit - mean)/s); limits from the noncentral t solved for its noncentrality",
				Source: "Hahn and Meeker 1991, Statistical Intervals, 4.5 (from memory)",
			},
			report.Method{
				Quantity: "posterior", Method: "noncentral t, the exact posterior under the prior 1/sigma",
				Source: "Guttman 1970, Statistical Tolerance Regions (from memory)",
			})
	}
	if a.FitCheck != nil {
		out = append(out, report.Method{
			Quantity: "fitCheck", Method: "Shapiro-Wilk on ln reading; plotting positions (i - 3/8)/(n + 1/4)",
			Source: "Royston 1995, Appl Stat 44:547 (AS R94); Blom 1958",
		})
	}
	return out
}
