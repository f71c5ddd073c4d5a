//go:build !windows

package alone

const nowhere = "/dev/null/none"
