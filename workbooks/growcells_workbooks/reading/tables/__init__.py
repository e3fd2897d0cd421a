"""Where is a table? Whichever way it lies, and whose and in which units where what stands around it says so."""
