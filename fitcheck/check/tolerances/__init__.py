"""The share of assemblies that clear: figures drawn within their ranges, and stacked up."""
