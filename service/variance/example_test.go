package variance_test

import (
	"fmt"
	"math"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/variance"
)

// Three zones of a plant, four shifts each; one result is below its reporting limit of 0.1.
func ExamplePartition() {
	var readings []reading.Reading
	add := func(zone string, results ...string) {
		for _, text := range results {
			r, err := reading.ParseResult(text)
			if err != nil {
				panic(err)
			}
			r.Zone = zone
			readings = append(readings, r)
		}
	}
	add("mixing", "0.42", "0.31", "0.77", "0.52")
	add("bagging", "1.9", "3.4", "1.1", "2.6")
	add("office", "<0.1", "0.21", "0.12", "0.35")
	limit := math.Log(5)
	r, err := variance.Partition(readings, func(r reading.Reading) string { return r.Zone }, variance.Options{LogLimit: &limit})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("between %.2f (%.2f to %.2f), within %.2f\n", r.Between.Estimate, r.Between.Lower, r.Between.Upper, r.Within.Estimate)
	fmt.Println(r.Pooling.Reasons[0])
	for _, z := range r.Zones {
		fmt.Printf("%s: %.2f, drawn towards the others %.2f\n", z.Name, z.GeometricMean, z.Shrunken)
	}
	// Output:
	// between 1.26 (0.67 to 5.67), within 0.53
	// Judge the zones apart: they differ by more than chance would make them.
	// bagging: 2.07, drawn towards the others 1.96
	// mixing: 0.48, drawn towards the others 0.48
	// office: 0.16, drawn towards the others 0.17
}
