"""From raw measurements to what they show, as pure computation: no Django here.

`curve` holds a measurement as read from a file, `findings` what an evaluation says of it. How files
are read is in `readers`; what is made of them is in a room for each sort of measurement.
"""
