package journal

// What the system says of a full disk.
const noSpace = errorDiskFull
