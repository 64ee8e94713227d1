package trace

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"example.com/tailbound/service/fault"
)

const (
	// mostTasks bounds the answer.
	mostTasks = 1000
	// mostAtOnce bounds memory, as mostChannels does: the tasks that go on at one time, times the channels.
	mostAtOnce = 128
)

// Task is a stretch of time with a name, averaged in place of periods.
type Task struct {
	Name string
	// Start is by the corrected clock.
	Start  time.Time
	Length time.Duration
}

// checkPeriods returns a fault when the periods and tasks do not go together.
func (o *Options) checkPeriods() error {
	origin := o.PeriodOrigin
	switch {
	case !origin.IsZero() && o.Period == 0:
		return fault.Invalid("periodOrigin", "is stated without averagingPeriod, whose beginning it would be")
	case !origin.IsZero() && (origin.Year() < firstYear || origin.Year() > lastYear):
		return fault.Invalid("periodOrigin", "is not a time between the years %d and %d", firstYear, lastYear)
	case len(o.Tasks) > 0 && o.Period > 0:
		return fault.Invalid("tasks", "are stated beside averagingPeriod; accepted is one of the two")
	case len(o.Tasks) > mostTasks:
		return fault.Invalid("tasks", "has %d entries; accepted are at most %d", len(o.Tasks), mostTasks)
	}
	for i := range o.Tasks {
		if err := o.Tasks[i].check(); err != nil {
			return fault.Under("tasks["+strconv.Itoa(i)+"]", err)
		}
	}
	if n, most := atOnce(o.Tasks), max(mostAtOnce/len(o.Channels), 1); n > most {
		return fault.Invalid("tasks", "has %d that go on at one time; accepted are at most %d, for %d channels", n, most, len(o.Channels))
	}
	if most := o.MaxAverages; most > 0 && len(o.Tasks)*len(o.Channels) > most {
		return &fault.Error{Code: fault.TooLarge, Violations: []fault.Violation{{
			Field: "tasks", Text: "makes too many averages: tasks times channels may be at most " + strconv.Itoa(most),
		}}}
	}
	return nil
}

func (t *Task) check() error {
	const longest = 100 * 365 * 24 * time.Hour
	switch {
	case t.Name == "":
		return fault.Invalid("name", "is empty; accepted is a name, which becomes the identifier of the readings")
	case t.Start.Year() < firstYear || t.Start.Year() >= lastYear-100:
		return fault.Invalid("start", "is not a time between the years %d and %d", firstYear, lastYear-100)
	case t.Length <= 0 || t.Length > longest:
		return fault.Invalid("length", "is %s; accepted is a length of time greater than 0 and of at most a century", Length(t.Length))
	}
	return nil
}

// atOnce is how many of the tasks go on at one time.
func atOnce(tasks []Task) int {
	type edge struct {
		at   int64
		step int
	}
	edges := make([]edge, 0, 2*len(tasks))
	for _, t := range tasks {
		start := t.Start.UnixNano()
		edges = append(edges, edge{start, 1}, edge{start + int64(t.Length), -1})
	}
	slices.SortFunc(edges, func(a, b edge) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.step, b.step)) })
	now, most := 0, 0
	for _, e := range edges {
		now += e.step
		most = max(most, now)
	}
	return most
}

// task is one that has begun.
type task struct {
	// place is its place among the options.
	place      int
	begin, end int64
	session    int
	logged     bool
	channels   []accumulator
}

// tasks are those of a trace in the order of their beginnings; they begin and end as the trace goes on.
type tasks struct {
	order []int
	next  int
	now   []*task
	// spare are accumulators of tasks that have ended.
	spare [][]accumulator
	out   []taskAverages
}

// taskAverages are those of one task, by channel.
type taskAverages struct {
	place    int
	averages []Average
}

func newTasks(all []Task) tasks {
	t := tasks{order: make([]int, len(all))}
	for i := range t.order {
		t.order[i] = i
	}
	slices.SortStableFunc(t.order, func(a, b int) int { return all[a].Start.Compare(all[b].Start) })
	return t
}

// giveTasks gives the values of the present time, which stand from start to end, to every task that goes on meanwhile.
func (r *Reducer) giveTasks(start, end int64) {
	t := &r.tasks
	t.now = slices.DeleteFunc(t.now, func(k *task) bool { return k.end <= start && r.endTask(k) })
	for ; t.next < len(t.order); t.next++ {
		stated := &r.options.Tasks[t.order[t.next]]
		begin := stated.Start.UnixNano()
		if begin >= end {
			break
		}
		// A task that was over before this time had nothing logged in it.
		if until := begin + int64(stated.Length); until > start {
			t.now = append(t.now, r.beginTask(t.order[t.next], begin, until))
		}
	}
	for _, k := range t.now {
		k.logged = k.logged || start >= k.begin
		r.give(k.channels, max(start, k.begin), min(end, k.end), start < k.begin)
	}
}

func (r *Reducer) beginTask(place int, begin, end int64) *task {
	k := &task{place: place, begin: begin, end: end, session: r.report.Sessions - 1}
	if last := len(r.tasks.spare) - 1; last >= 0 {
		k.channels, r.tasks.spare = r.tasks.spare[last], r.tasks.spare[:last]
	} else {
		k.channels = r.accumulators()
	}
	for i := range k.channels {
		k.channels[i].reset(begin)
	}
	return k
}

// endTask keeps the averages of a task, unless all that it has was carried over from before. It is true, for the one who deletes.
func (r *Reducer) endTask(k *task) bool {
	if k.logged {
		kept := taskAverages{place: k.place, averages: make([]Average, len(k.channels))}
		for i := range k.channels {
			kept.averages[i] = r.finished(&k.channels[i], k.end, k.session, i)
			kept.averages[i].Task = r.options.Tasks[k.place].Name
		}
		r.tasks.out = append(r.tasks.out, kept)
	}
	r.tasks.spare = append(r.tasks.spare, k.channels)
	return true
}

// endTasks puts the averages of all tasks into the order in which the tasks were stated.
func (r *Reducer) endTasks() {
	for _, k := range r.tasks.now {
		r.endTask(k)
	}
	r.tasks.now = nil
	slices.SortFunc(r.tasks.out, func(a, b taskAverages) int { return cmp.Compare(a.place, b.place) })
	met := 0
	for i := range r.options.Tasks {
		if met < len(r.tasks.out) && r.tasks.out[met].place == i {
			r.out = append(r.out, r.tasks.out[met].averages...)
			met++
			continue
		}
		r.report.Missed = append(r.report.Missed, r.options.Tasks[i].Name)
	}
}
