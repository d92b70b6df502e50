declare module '@lhncbc/ucum-lhc' {
  const library: {
    readonly UcumLhcUtils: {
      getInstance(): {
        convertUnitTo(
          from: string,
          value: number,
          to: string,
        ): { readonly status: string; readonly toVal: number | null };
      };
    };
  };
  export default library;
}
