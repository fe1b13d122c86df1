"""What can be computed from the surfaces and numbers of a case?

The numeric package: arrays, numbers and bytes go in; numbers, arrays and small frozen
dataclasses come out. Lengths are millimetres, angles degrees, axes right-handed; every name
carries its unit. It stands on numpy and numba and knows nothing of the service around it.
"""
