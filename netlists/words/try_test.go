package words

import ("testing";"legtrace/netlists";"os";"bufio";"fmt")

func TestTry(t *testing.T) {
	m := os.Getenv("M"); if m=="" { m="range-electronic" }
	c, err := netlists.Open(m)
	if err != nil { t.Fatal(err) }
	l := English(); if os.Getenv("L") != "" { l = Spanish() }; f, _ := os.Open(os.Getenv("F"))
	s := bufio.NewScanner(f)
	for s.Scan() {
		h := l.Read(c, s.Text())
		fmt.Println("»", s.Text())
		for _, x := range h.Statements { fmt.Println("    ", x.About, "|", l.Tell(c, x)) }
		for _, q := range h.Questions { fmt.Printf("     ? %s (%s): %d\n", q.Words, q.What, len(q.Choices)) }
		if len(h.Unknown)+len(h.Mended)>0 { fmt.Println("     not:", h.Unknown, h.Mended) }
	}
}
