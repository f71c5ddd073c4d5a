package wasm

import "context"

func DefaultSymList(ctx context.Context) ([]*SymList, error) {
	p, err := mod.NewPtr(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := mod.ExportedFunction("wasm_bridge_SymList_default").Call(ctx, p); err != nil {
		return nil, err
	}
	ptr, err := mod.readU32(p)
	if err != nil {
		return nil, err
	}
	slice, err := mod.toSlice(ctx, ptr)
	if err != nil {
		return nil, err
	}
	return newSymListSlice(slice), nil
}

func SymListZero(ctx context.Context) (*SymList, error) {
	p, err := mod.NewPtr(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := mod.ExportedFunction("wasm_bridge_SymList_zero").Call(ctx, p); err != nil {
		return nil, err
	}
	ptr, err := mod.readU32(p)
	if err != nil {
		return nil, err
	}
	return newSymList(ptr), nil
}
