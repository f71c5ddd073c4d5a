package schematic

// clutter knows which rectangles of the page are taken, and by what.
type clutter struct {
	buckets map[point][]item
}

// item is a rectangle that is taken; net is the wire's in it, or -1.
type item struct {
	rect
	net int
}

// any and none are for all that is taken, and for nothing.
func (o item) any() bool  { return true }
func (o item) none() bool { return false }

// solid reports whether it is anything but a wire.
func (o item) solid() bool { return o.net < 0 }

const bucket = 64

func (c *clutter) add(r rect, net int) {
	for y := floorDiv(r.y0, bucket); y <= floorDiv(r.y1, bucket); y++ {
		for x := floorDiv(r.x0, bucket); x <= floorDiv(r.x1, bucket); x++ {
			c.buckets[point{x, y}] = append(c.buckets[point{x, y}], item{r, net})
		}
	}
}

// any reports whether something in r answers.
func (c *clutter) any(r rect, is func(item) bool) bool {
	for y := floorDiv(r.y0, bucket); y <= floorDiv(r.y1, bucket); y++ {
		for x := floorDiv(r.x0, bucket); x <= floorDiv(r.x1, bucket); x++ {
			for _, o := range c.buckets[point{x, y}] {
				if o.overlaps(r) && is(o) {
					return true
				}
			}
		}
	}
	return false
}

// free reports whether nothing lies in r.
func (c *clutter) free(r rect) bool {
	return !c.any(r, item.any)
}

// nearOwn reports whether a text in r, which belongs to a net, could not be
// read as another net's.
func (c *clutter) nearOwn(r rect, net int) bool {
	return !c.any(r.grown(nameClear), func(o item) bool { return o.net >= 0 && o.net != net })
}

// nameClear is how far a wire's name keeps from other nets' wires.
const nameClear = 7
