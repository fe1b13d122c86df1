"""Which geometry do several measures share: nearest points, normals, pieces, poses?"""
