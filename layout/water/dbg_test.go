package waterlayout
import ("testing";"fmt";"math/rand";"time";"os")
func TestMass(t *testing.T) {
	rnd := rand.New(rand.NewSource(77))
	var worst time.Duration
	n, probs, faults := 0,0,0
	kinds := map[string]int{}
	t0 := time.Now()
	for time.Since(t0) < 60*time.Second {
		seed := rnd.Int63n(1e6); k := 3+rnd.Intn(118); s := 1+rnd.Intn(8); s = min(s,k)
		pages := [][]Size{a3,a4,{{180,250}},{{100,66},{76,94}}}[rnd.Intn(4)]
		g := boat(seed,s,k,pages)
		q := time.Now()
		p := mustLayout(t,g)
		if d := time.Since(q); d > worst { worst = d; fmt.Println("slow", seed,s,k,pages,d) }
		n++
		c := Check(g,p)
		if len(p.Problems)>0 { probs++; kinds[p.Problems[0].Kind]++; if probs<12 {fmt.Println("prob",seed,s,k,pages,p.Problems[0])} } else if len(c)>0 { faults++; fmt.Println("fault", seed,s,k,pages,c[0]) }
	}
	fmt.Println(n, "boats", probs, "with problems", faults, "with silent faults", worst, kinds)
	_ = os.Stdout
}
