"""What a person can ask for, one function each: the same for the command line, the web and the library.

Takes a store and plain arguments; gives frozen records. `pipeline` alone knows the order of the stages. Prints nothing,
asks nothing, knows no face.
"""
