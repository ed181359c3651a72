package waterlayout

// span is how far beyond the present price the buckets reach.
const span = 1 << 11

// buckets is a queue of states by price, for prices that never fall below the
// last one taken out. The state put in last comes out first among equals, so that
// a search goes straight on. Prices beyond the buckets wait in a list.
type buckets struct {
	head  [span]int32 // 1 + index into items
	items []queued
	base  int32 // present price
	count int   // states in the buckets
	late  []lateState
	first int32 // least price in late
}

type queued struct{ state, next int32 }

type lateState struct{ price, state int32 }

// reset empties the queue; no price will be below base.
func (q *buckets) reset(base int32) {
	if q.count > 0 {
		clear(q.head[:])
	}
	q.items, q.late, q.base, q.count = q.items[:0], q.late[:0], base, 0
}

func (q *buckets) push(price, state int32) {
	if price-q.base >= span {
		if len(q.late) == 0 || price < q.first {
			q.first = price
		}
		q.late = append(q.late, lateState{price, state})
		return
	}
	h := &q.head[price&(span-1)]
	q.items = append(q.items, queued{state, *h})
	*h = int32(len(q.items))
	q.count++
}

// pop takes out a state of the least price.
func (q *buckets) pop() (price, state int32, ok bool) {
	for {
		if len(q.late) > 0 && (q.count == 0 || q.base == q.first) {
			q.recall()
		}
		if q.count == 0 {
			return 0, 0, false
		}
		if h := &q.head[q.base&(span-1)]; *h != 0 {
			i := q.items[*h-1]
			*h = i.next
			q.count--
			return q.base, i.state, true
		}
		q.base++
	}
}

// recall moves the states that the buckets now reach out of the list.
func (q *buckets) recall() {
	q.base = q.first
	wait := q.late
	q.late = q.late[:0]
	for _, l := range wait {
		q.push(l.price, l.state)
	}
}
