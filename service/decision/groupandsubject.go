package decision

const groupAndSubjectSource = "BOHS and NVvA 2011, Testing Compliance with Occupational Exposure Limits for Airborne Substances (numbers " +
	"from memory)"

// groupAndSubjectRule is part of the contract so far: the chance that it asks for comes from the variance between subjects.
func groupAndSubjectRule() rule {
	return rule{
		id: GroupAndSubject, name: "GROUP_AND_SUBJECT", title: "group and subject", source: groupAndSubjectSource,
		needs: "at least 2 subjects, one of them with repeated results",
		answers: "compliant when the upper 70 % limit of the group's 95th percentile is below the limit and the chance that a subject's own " +
			"95th percentile exceeds it is below 20 %, else not compliant",
	}
}
