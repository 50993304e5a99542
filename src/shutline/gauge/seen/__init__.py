"""Figures read off pictures: odometers, chassis numbers, marks, tyres, paint gauges, papers.

Takes pictures as arrays; gives what was read sign by sign, what it comes to, what else it may be, and how sure it is.
May not put one sign in place of another, know a store, or let anything count as so: that is for a person.
"""
