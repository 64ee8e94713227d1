package variance

// Method says which formula gave a number, and which publication holds it.
type Method struct {
	// Quantity is the path of the number in the contract's answer.
	Quantity, Method, Source string
}

// Methods says which formula gave each number of an answer, in the order of the contract.
func Methods(r *Result) []Method {
	estimate := "maximum of the restricted likelihood, from its profile in sigma_b²/sigma_w²"
	kind := "exact pivots"
	if !r.Test.Exact {
		estimate = "maximum of the likelihood with each zone's effect and mu integrated out by quadrature"
		kind = "exact pivots of readings with a value that would say as much (approximate)"
	}
	const (
		pivotalSource  = "Wald 1940, Ann Math Stat 11:96; Krishnamoorthy and Mathew 2002, J Agric Biol Environ Stat 7:440 (from memory)"
		restrictedText = "Harville 1977, J Am Stat Assoc 72:320 (from memory)"
	)
	out := []Method{
		{"between", estimate + "; limits from " + kind, restrictedText + "; " + pivotalSource},
		{"within", estimate + "; limits from chi-square, " + kind, restrictedText},
		{"betweenShare", "sigma_b²/(sigma_b² + sigma_w²); limits from the F distribution, " + kind, "Wald 1940, Ann Math Stat 11:96 (from memory)"},
		{"fTest", "mean square between over mean square within, " + kind, "Searle, Casella and McCulloch 1992, Variance Components (from memory)"},
		{
			"percentileRatio", "exp(3.919928 sigma_b), twice the 97.5th percentile of the normal distribution; 3.92 in the literature",
			"Rappaport et al. 1993, Am Ind Hyg Assoc J 54:654 (formula from memory)",
		},
		{"zones", "best linear unbiased prediction of the mean of ln reading; deviance from what the other zones foretell, p-values times the " +
			"number of zones", "Robinson 1991, Stat Sci 6:15; Bonferroni (from memory)"},
		{
			"pooling", "F test, ratio up to 2 called uniform, zones that do not belong, chance between 20 % and 80 %",
			"Rappaport et al. 1993; BOHS/NVvA 2011 for 20 % (from memory)",
		},
	}
	if r.Chance != nil {
		out = append(out, Method{
			"chanceAboveLimit", "Phi((mu + z sigma_w - ln limit)/sigma_b); limits from " + kind + ", noncentral t averaged over the ratio",
			pivotalSource,
		})
	}
	if r.Split != nil {
		out = append(out, Method{
			"split", "completed likelihood of contiguous groups of ordered zone means with the penalty of BIC, by dynamic programming",
			"Biernacki, Celeux and Govaert 2000, IEEE PAMI 22:719; Fisher 1958, J Am Stat Assoc 53:789 (from memory)",
		})
	}
	return out
}
