"""Every number the laboratory computes: plain functions, no Django, nothing of labrecords outside.

Import the module wanted (``from labrecords.stats import tolerance``): the package itself loads none of them.
"""
