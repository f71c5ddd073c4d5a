package alone

const nowhere = `NUL\none`
