"""Which meshes, sites and parts belong together, and what is measured on them?"""
