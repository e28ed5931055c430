"""What refrigerants do: saturation, vapour and liquid, from tables made once of CoolProp."""
